"""Which whole numbers are likely: the narrow range that a count of bypass groups is told with."""

from collections.abc import Mapping

ENOUGH = 0.95
"""So likely it must be that the number lies in the range."""


def likely_counts(weights: Mapping[int, float], told: int) -> tuple[int, int]:
    """Fewest and most of a range of numbers around the one `told`.

    `weights` says how likely each number is, up to a common factor; the range grows by the
    likelier neighbour until it holds ENOUGH of them.
    """
    enough = ENOUGH * sum(weights.values())
    fewest = most = told
    held = weights.get(told, 0.0)
    below = sorted(n for n in weights if n < told)
    above = sorted((n for n in weights if n > told), reverse=True)
    while held < enough and (below or above):
        downwards = bool(below) and (not above or weights[below[-1]] >= weights[above[-1]])
        number = (below if downwards else above).pop()
        fewest, most = min(fewest, number), max(most, number)
        held += weights[number]
    return fewest, most
