"""Which mark separates the cells of a text and how its numbers are written, with reasons."""

from dataclasses import dataclass
from itertools import product

from viewer.reading.notation.clock_text import looks_like_time
from viewer.reading.notation.limits import NoTableError
from viewer.reading.notation.number_style import STYLES, NumberStyle
from viewer.reading.tables.cell_grid import DELIMITERS, split_cells

_SAMPLE_LINES = 40
_SAMPLE_WIDTH = 2_000
MOSTLY = 0.85
"""Part of the lines that must be read before rarer styles of numbers are left untried."""


@dataclass(frozen=True)
class TextFormat:
    """`delimiter` is a key of DELIMITERS; `reasons` say in words why."""

    delimiter: str
    style: NumberStyle
    reasons: tuple[str, ...] = ()

    @property
    def mark(self) -> str:
        return DELIMITERS[self.delimiter]


def find_text_format(text: str, source: str) -> TextFormat:
    """The format that lets most of the lines with digits be read as numbers.

    Raises NoTableError if none gives two numbers in a line.
    """
    lines = _sample(text)
    best: tuple[float, int, str, NumberStyle] | None = None
    candidates = enumerate(product(STYLES, DELIMITERS))
    present = {name for name, mark in DELIMITERS.items() if any(mark in one for one in lines)}
    for rank, (style, delimiter) in candidates:
        if best is not None and style.thousands and best[0] >= MOSTLY * len(lines):
            break  # marks of thousands are looked for only where numbers are left unread
        if delimiter not in present:
            continue
        if not _possible(DELIMITERS[delimiter], style, lines):
            continue
        score = _score(lines, DELIMITERS[delimiter], style)
        if score > 0 and (best is None or score > best[0] * 1.0001):
            best = (score, rank, delimiter, style)
        if best is not None and best[0] >= 0.999 * len(lines):
            break
    if best is None:
        raise NoTableError(_no_numbers(text, source))
    _, _, delimiter, style = best
    return TextFormat(delimiter, style, _reasons(delimiter, style, lines))


def _no_numbers(text: str, source: str) -> str:
    if not text.strip():
        return f"{source} is empty; export the trace again."
    return (
        f"{source} has no line with two numbers in it, so there is no table of voltage and "
        "current; export the points of the sweep."
    )


def _sample(text: str) -> list[str]:
    """Lines with at least two digits: the last ones of the text's first part and some beyond.

    Tables stand below their preamble, so lines are taken evenly from the first 4,000.
    """
    lines = [
        line.strip(" \r\n")[:_SAMPLE_WIDTH]
        for line in text[:400_000].split("\n", 4_000)[:4_000]
        if sum(map(str.isdigit, line[:200])) >= 2
    ]
    step = max(1, -(-len(lines) // _SAMPLE_LINES))
    return lines[::step]


def _possible(mark: str, style: NumberStyle, lines: list[str]) -> bool:
    if mark == style.decimal:
        return False
    if mark in (style.thousands, ",") and mark == style.thousands:
        return any('"' in line for line in lines)
    return True


def _score(lines: list[str], mark: str, style: NumberStyle) -> float:
    """Lines of nothing but numbers and times count one, lines with two or more of them less."""
    score = 0.0
    for line in lines:
        cells = [cell for cell in split_cells(line, mark)[:60] if cell]
        numbers = sum(1 for cell in cells if _is_number(style, cell))
        numbers += sum(1 for cell in cells if looks_like_time(cell)) if numbers else 0
        if numbers >= 2:
            score += 1.0 if numbers == len(cells) else 0.5 * numbers / len(cells)
    return score


def _is_number(style: NumberStyle, cell: str) -> bool:
    value = style.number(cell)
    return value is not None and value == value


def _reasons(delimiter: str, style: NumberStyle, lines: list[str]) -> tuple[str, ...]:
    mark = {"tab": "Tabs", "spaces": "Spaces"}.get(delimiter, f"The mark '{delimiter}'")
    verb = "separate" if mark.endswith("s") else "separates"
    count = sum(_score([line], DELIMITERS[delimiter], style) > 0 for line in lines)
    found = [
        f"{mark} {verb} the cells: {100 * count / len(lines):.0f} % of the lines with digits then "
        "hold two numbers or more."
    ]
    decimal = {".": "point", ",": "comma"}[style.decimal]
    if style.decimal == "," or style.thousands:
        found.append(f"Numbers are written with a decimal {decimal}.")
    if style.thousands:
        found.append(f"The mark '{style.thousands}' groups thousands.")
    return tuple(found)
