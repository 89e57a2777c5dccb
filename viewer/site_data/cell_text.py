"""Text for spreadsheet cells: a cell that a spreadsheet would run as a formula is disarmed."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def plain_cell(text: str) -> str:
    """The text, with an apostrophe before it where a spreadsheet would compute it.

    The usual precaution against formula injection (OWASP, "CSV Injection"). A text that
    begins with such an apostrophe already gets another, so that `original_text` can tell.
    """
    bare = text.lstrip("'")
    return "'" + text if bare.startswith(FORMULA_STARTS) else text


def original_text(cell: str) -> str:
    """The text that `plain_cell` wrote as this cell."""
    bare = cell.lstrip("'")
    return cell[1:] if cell != bare and bare.startswith(FORMULA_STARTS) else cell
