"""Names of strings beside the combiner that they are shown for."""

from collections.abc import Sequence


def letters_in_common(combiner: str, strings: Sequence[str]) -> int:
    """How many letters all names of strings begin with that only name the combiner again."""
    for between in "-_/ .":
        start = combiner + between
        if combiner and all(one.startswith(start) and one != start for one in strings):
            return len(start)
    return 0
