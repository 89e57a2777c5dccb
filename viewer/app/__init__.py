"""Assembly: the command line, the start of the window, the main window."""
