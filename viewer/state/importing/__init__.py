"""Files of any layout on their way to a visit folder."""
