"""The site file: one SQLite database that keeps a site, its visits and every imported byte."""
