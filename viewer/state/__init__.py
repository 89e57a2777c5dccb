"""What the open program knows, in plain Python: session, selection, settings, jobs."""
