"""The panes that look at more than one visit."""
