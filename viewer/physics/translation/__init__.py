"""Measured curves moved to other conditions after IEC 60891:2021, procedures 1 to 4."""

from viewer.physics.translation.procedures import PROCEDURES, TranslatedCurve, translate

__all__ = ["PROCEDURES", "TranslatedCurve", "translate"]
