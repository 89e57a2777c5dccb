"""Key-value lines in the many ways instruments and people write them."""

import re
from collections.abc import Iterable

from viewer.reading.notation.number_style import NumberStyle
from viewer.reading.notation.units import unit_of
from viewer.reading.tables.cell_grid import Row
from viewer.reading.tables.raw_table import KeyLine

COMMENT_MARKS = re.compile(r"^\s*(?:#+|%+|//+|\*+|!+|;+|--+)\s*")
_PAIR = re.compile(r"^\s*(?P<key>[^\W\d][^:=<>]{0,59}?)\s*[:=]\s*(?P<value>\S.*?)?\s*$")
_TAGGED = re.compile(r"^\s*<(?P<key>[^\W\d][\w .-]{0,59})>(?P<value>[^<]*)</(?P=key)>\s*$")
_SEPARATORS = re.compile(r"\s*[;|\t]\s*|,\s+|\s{2,}")
_LONGEST = 500


def key_lines(rows: Iterable[Row], style: NumberStyle) -> tuple[list[KeyLine], list[str]]:
    """The key lines among those rows, and the other lines' text (titles, remarks)."""
    found: list[KeyLine] = []
    others: list[str] = []
    for row in rows:
        if not row.text.strip():
            continue
        pairs = _pairs(row, style)
        found.extend(KeyLine(key, value, row.line) for key, value in pairs)
        if not pairs:
            others.append(COMMENT_MARKS.sub("", row.text).strip(" ,;\t|\"'"))
    return found, [text for text in others if text]


def normal_key(key: str) -> str:
    """Small letters, words parted by one space: "T_module [°C]" is "t module °c"."""
    return re.sub(r"[\W_]+", " ", key.casefold()).strip()


def _pairs(row: Row, style: NumberStyle) -> list[tuple[str, str]]:
    text = COMMENT_MARKS.sub("", row.text[:_LONGEST]).strip()
    if tagged := _TAGGED.match(text):
        return [(tagged["key"], tagged["value"].strip())]
    several = [_PAIR.match(part) for part in _SEPARATORS.split(text)]
    if len(several) > 1 and all(several):
        return [_as_pair(match) for match in several if match]
    cells = _cells(row)
    by_cells = len(cells) >= 2 and not re.search(r"[:=]", cells[0].rstrip(":= "))
    if by_cells and (pairs := _cell_pairs(cells, style)):
        return pairs
    if pair := _PAIR.match(text):
        return [_as_pair(pair)]
    return []


def _as_pair(match: re.Match[str]) -> tuple[str, str]:
    return match["key"].strip(' "'), (match["value"] or "").strip(' ",;')


def _cells(row: Row) -> list[str]:
    """The row's cells without a comment mark and without empty ones at the end."""
    cells = list(row.cells)
    if cells:
        cells[0] = COMMENT_MARKS.sub("", cells[0])
    if cells and not cells[0]:
        cells = cells[1:]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _cell_pairs(cells: list[str], style: NumberStyle) -> list[tuple[str, str]]:
    """key, value | key, value, unit | key, unit, value | key, value, key, value ..."""
    if style.number(cells[0]) is not None:
        return []
    keys = [cell.rstrip(":= ") for cell in cells]
    if len(cells) == 2:
        return [(keys[0], cells[1])]
    if len(cells) == 3 and unit_of(cells[2].strip("[]() ")):
        return [(keys[0], f"{cells[1]} {cells[2].strip('[]() ')}")]
    if len(cells) == 3 and unit_of(cells[1].strip("[]() ")):
        return [(keys[0], f"{cells[2]} {cells[1].strip('[]() ')}")]
    halves = list(zip(keys[0::2], cells[1::2], strict=False))
    if len(cells) % 2 == 0 and all(style.number(key) is None for key, _ in halves):
        return halves
    return []
