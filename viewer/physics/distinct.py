"""The different things among many that are mostly the same few."""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Thing = TypeVar("Thing")


def distinct(many: Sequence[Thing]) -> tuple[list[Thing], NDArray[np.int64]]:
    """The different objects, in order of first appearance, and which of them each one is."""
    kinds = {id(one): one for one in many}
    number = {key: k for k, key in enumerate(kinds)}
    return list(kinds.values()), np.array([number[id(one)] for one in many], dtype=np.int64)
