"""What people add to a site and where it is kept, with undo."""
