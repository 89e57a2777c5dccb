"""The window: its start, the docks of its panes, what it is asked to do."""
