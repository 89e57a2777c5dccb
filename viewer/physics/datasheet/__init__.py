"""From a datasheet to the model of a module."""
