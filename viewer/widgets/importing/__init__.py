"""Importing files of any layout."""
