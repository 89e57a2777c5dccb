"""The panes for the day before and for the moment at the string."""
