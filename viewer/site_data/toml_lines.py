"""Where each key of a TOML text stands, so that an error can name its line."""

import re

Place = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_WORD = r"""(?:"[^"]*"|'[^']*'|[\w-]+)"""
_KEY = re.compile(rf"^\s*({_WORD}(?:\s*\.\s*{_WORD})*)\s*=")
_PART = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*(?:\.|$)""")


def key_lines(text: str) -> dict[Place, int]:
    """Line number (from 1) of every table header and key, by its path in the parsed data.

    Elements of arrays of tables count from 0, as in the list that `tomllib` gives.
    """
    lines: dict[Place, int] = {(): 1}
    counts: dict[Place, int] = {}
    table: Place = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = _table(_parts(header[2]), header[1] == "[[", counts)
            lines[table] = number
        elif key := _KEY.match(line):
            lines.setdefault((*table, *_parts(key[1])), number)
    return lines


def line_of(lines: dict[Place, int], place: Place) -> int:
    """The line of that key, of the first element of that array, or of the table around it."""
    if place not in lines and (*place, 0) in lines:
        return lines[*place, 0]
    while place not in lines:
        place = place[:-1]
    return lines[place]


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(a or b or c for a, b, c in _PART.findall(dotted))


def _table(parts: tuple[str, ...], is_array: bool, counts: dict[Place, int]) -> Place:
    """The path of a header's table, with the running number of each array it passes."""
    place: Place = ()
    for depth, part in enumerate(parts):
        place = (*place, part)
        last = depth == len(parts) - 1
        if last and is_array:
            counts[place] = counts.get(place, -1) + 1
        if place in counts:
            place = (*place, counts[place])
    return place
