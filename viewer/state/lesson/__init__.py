"""Scenarios at chosen settings, side by side, as a quiz and as explanations."""
