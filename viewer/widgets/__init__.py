"""The panes of the window, thin: one file a pane."""
