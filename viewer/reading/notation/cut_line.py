"""A file that ends within a line has most likely lost its end: 12.2 A may be left as 1.

Told only where it is plain: the last line has no line end, and it has fewer numbers than each line
before it, or the last one lacks digits that each before it has.
"""

LINES = 10
"""Lines before the last one by which it is judged."""


def cut_line(text: str, delimiter: str = ",", decimal: str = ".") -> str:
    """The last line of the text if it is cut off, else ""."""
    if text.endswith("\n"):
        return ""
    before, _, last = text.rpartition("\n")
    cells = _cells(last, delimiter)
    shape = _digits(cells, decimal)
    lines = [one for one in before.rsplit("\n", LINES)[-LINES:] if one.strip()]
    usual = {_digits(_cells(one, delimiter), decimal) for one in lines}
    if len(usual) != 1 or not last[:1].isdigit():
        return ""
    (whole,) = usual
    if len(whole) < 2 or shape[:-1] != whole[: len(shape) - 1]:
        return ""
    if len(shape) < len(whole):
        return last
    return last if len(shape) == len(whole) and shape[-1] < whole[-1] else ""


def cut_words(line: str) -> str:
    """The remark on a line that was left out for that."""
    return (
        f"The last line is cut off ('{line[:40]}') and was left out: the transfer of the file may "
        "have broken off."
    )


def _cells(line: str, delimiter: str) -> list[str]:
    return [one.strip() for one in (line.split(delimiter) if delimiter.strip() else line.split())]


def _digits(cells: list[str], decimal: str) -> tuple[int, ...]:
    """How many digits stand behind the decimal mark of each cell."""
    return tuple(len(cell.partition(decimal)[2]) for cell in cells)
