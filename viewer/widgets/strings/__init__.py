"""The panes about the strings of one visit and the current one."""
