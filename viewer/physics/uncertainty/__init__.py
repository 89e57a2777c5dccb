"""What is not known exactly, and how it adds up."""
