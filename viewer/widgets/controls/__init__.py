"""What panes are made of: bindings, theme, boxes, rows, keyboard reach."""
