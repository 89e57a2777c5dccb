"""Combiner, string and more out of a path, by regular expressions with named groups."""

import re
import re._constants as codes  # type: ignore[import-not-found]
import re._parser as parser  # type: ignore[import-not-found]
from collections.abc import Iterable
from functools import lru_cache

from viewer.reading.recipes.recipe import FIELDS, RecipeError

GROUPS = (*FIELDS, "date", "time")
"""Names a group may have; date and time together give measured_at."""

LONGEST_PATTERN = 400
_REPEATS = (codes.MAX_REPEAT, codes.MIN_REPEAT)


@lru_cache(maxsize=256)
def compiled(pattern: str) -> re.Pattern[str]:
    """The pattern, ready to search. Raises RecipeError for one that is wrong or could hang.

    A repeat within a repeat, such as (a+)+, can take for ever on an unlucky path.
    """
    if len(pattern) > LONGEST_PATTERN:
        raise RecipeError(f"the path pattern has more than {LONGEST_PATTERN} characters")
    try:
        found = re.compile(pattern)
        nested = _nests_repeats(parser.parse(pattern), inside=False)
    except (re.error, OverflowError, RecursionError) as error:
        raise RecipeError(f"the path pattern '{pattern[:60]}' is wrong: {error}") from error
    if nested:
        raise RecipeError(
            f"the path pattern '{pattern[:60]}' repeats a repeat, which can take for ever; "
            "write it without"
        )
    unknown = [name for name in found.groupindex if name not in GROUPS]
    if unknown or not found.groupindex:
        what = f"has a group '{unknown[0]}'" if unknown else "has no named group"
        raise RecipeError(
            f"the path pattern '{pattern[:60]}' {what}; groups are (?P<name>...) with the names "
            f"{', '.join(GROUPS)}"
        )
    return found


def path_fields(path: str, patterns: Iterable[str]) -> dict[str, str]:
    """What the patterns find in that path (forward slashes); the first find of a name counts."""
    found: dict[str, str] = {}
    for pattern in patterns:
        match = compiled(pattern).search(path[-1000:])
        if match is None:
            continue
        for name, text in match.groupdict().items():
            if text:
                found.setdefault(name, text)
    if "measured_at" not in found and "date" in found:
        found["measured_at"] = f"{found['date']} {found.get('time', '')}".strip()
    return {name: text for name, text in found.items() if name in FIELDS}


def _nests_repeats(parsed: Iterable[tuple[object, object]], inside: bool) -> bool:
    for code, argument in parsed:
        repeats = code in _REPEATS and argument[1] > 1  # type: ignore[index]
        if repeats and inside:
            return True
        if any(_nests_repeats(part, inside or repeats) for part in _parts(argument)):
            return True
    return False


def _parts(argument: object) -> Iterable[parser.SubPattern]:
    if isinstance(argument, parser.SubPattern):
        return [argument]
    if isinstance(argument, list | tuple):
        return [part for one in argument for part in _parts(one)]
    return []
