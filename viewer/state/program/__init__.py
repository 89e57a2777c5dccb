"""What the program has whatever is open: settings, jobs, notices."""
