"""Curvewright: measured I-V curves of PV strings against their datasheet."""

__version__ = "0.1.0"
