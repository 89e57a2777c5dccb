"""Tables of plain text lines, for a terminal."""

from collections.abc import Sequence


def aligned(headings: Sequence[str], rows: Sequence[Sequence[str]], right: set[str]) -> list[str]:
    """Rows under their headings in columns; those in `right` end at the same place."""
    widths = [
        max(len(heading), *(len(row[k]) for row in rows)) if rows else len(heading)
        for k, heading in enumerate(headings)
    ]

    def line(cells: Sequence[str]) -> str:
        return "  ".join(
            cell.rjust(width) if heading in right else cell.ljust(width)
            for cell, width, heading in zip(cells, widths, headings, strict=True)
        ).rstrip()

    return [line(headings), *(line(row) for row in rows)]
