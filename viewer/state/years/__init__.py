"""What the visits say together."""
