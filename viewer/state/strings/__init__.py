"""What is shown of the strings of one visit: rows, grids, key points, losses."""
