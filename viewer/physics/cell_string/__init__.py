"""Strings as what they are made of: cells, bypass groups, modules, strings in parallel."""
