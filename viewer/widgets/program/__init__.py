"""What belongs to the program as such: start, settings, help, search, running work."""
