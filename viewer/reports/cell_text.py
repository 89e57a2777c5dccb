"""Text for spreadsheet cells: a cell that a spreadsheet would run as a formula is disarmed."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def plain_cell(text: str) -> str:
    """The text, with an apostrophe before it where a spreadsheet would compute it.

    The usual precaution against formula injection (OWASP, "CSV Injection").
    """
    return "'" + text if text.startswith(FORMULA_STARTS) else text
