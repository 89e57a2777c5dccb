"""Reading recipes: what the columns, key lines and paths of a layout mean."""
