"""The plain trace format of a visit folder, read and written."""
