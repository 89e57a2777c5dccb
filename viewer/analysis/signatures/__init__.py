"""What the shape of one sweep shows, with sizes and what each costs."""
