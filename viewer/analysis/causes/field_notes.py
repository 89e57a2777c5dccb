"""What the note in a trace's file says of dirt, shade, faults and cleaning."""

import re

_CLEANED = re.compile(r"(?<!not )(?<!never )(?<!yet )(?<!be )\b(cleaned|washed)\b")
"""Said of the past; "not yet cleaned" and "to be washed" are not."""


def says_cleaned(note: str | None) -> bool:
    """Whether the note in the file says that the string was cleaned before the trace."""
    return _CLEANED.search((note or "").lower()) is not None


def mentions(note: str | None, words: tuple[str, ...]) -> bool:
    """Whether one of the words stands in the note."""
    text = (note or "").lower()
    return any(word in text for word in words)
