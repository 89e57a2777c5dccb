"""What the note in a trace's file says of shade, faults, dirt, cleaning and repairs.

Only whole words count, and none that is denied in the few words before it. The note is free text:
what is not understood is passed over.
"""

import re
from collections.abc import Iterator

SHADE = (
    r"shad(?:e|es|ed|ing|ow|ows|owed)|trees?|poles?(?![ -]mount)|chimneys?|grass|weeds?|"
    r"lea(?:f|ves)|droppings?"
)
CELL_FAULT = r"hot ?-?spots?|cracks?|cracked|broken(?! clouds?)|burn(?:s|t|ed)?|snails?"
DIRT = r"dirt|dirty|dust|dusty|soil|soiled|soiling|pollen|sand|sandy|mud|muddy|snow|snowy"
_CLEANED = r"cleaned|washed|after (?:the )?cleaning"
_UNCLEANED = r"uncleaned|unwashed|soiled|before (?:the )?(?:cleaning|washing)"
_MENDED = r"repaired|mended|replaced|exchanged|re-?test|re-?tested|after (?:the )?repair"
_DENIALS = frozenset({"no", "not", "never", "without", "none", "free", "isn't", "wasn't", "hasn't"})
_NOT_YET = _DENIALS | {"be", "being", "before", "until", "yet", "needs", "should", "must"}
"""What was not done when the trace was taken, or is still to be done."""
_WORDS_BEFORE = 4
_LONG_AGO = re.compile(
    r"\b(?:weeks?|months?|years?|spring|summer|autumn|winter|(?:19|20)\d\d)\b", re.IGNORECASE
)
_SENSOR = re.compile(r"\b(?:pyranometers?|sensors?|reference|devices?)\b", re.IGNORECASE)
_STRING = re.compile(r"\b(?:strings?|modules?|panels?|glass|array)\b", re.IGNORECASE)
_CLAUSE = re.compile(r"[,;.!?()]+(?:\s|$)|\n|\bbut\b", re.IGNORECASE)
_DENIED_AFTER = r"(?![ ]*[:=-]?[ ]*(?:no|none|not|free)\b)"
"""As in a form: "shade: none", and in "dust free"."""


def said_of(note: str | None, words: str) -> str:
    """The part of the note in which one of the words stands undenied, as it is; "" where none."""
    return next(_parts(note, words, _DENIALS), "")


def says_cleaned(note: str | None) -> str:
    """The part of the note that says that the string was cleaned shortly before; "" where none."""
    return next((one for one in _parts(note, _CLEANED, _NOT_YET) if _of_late(one)), "")


def says_uncleaned(note: str | None) -> str:
    """The part of the note that says that the string was traced as dirty as it was; "" where
    none."""
    parts = (*_parts(note, _UNCLEANED, _DENIALS), *_parts(note, _CLEANED, _NOT_YET, denied=True))
    return next((one for one in parts if not _of_sensor(one)), "")


def says_mended(note: str | None) -> str:
    """The part of the note that says that the string was mended before; "" where none."""
    return next(_parts(note, _MENDED, _NOT_YET), "")


def _of_late(part: str) -> bool:
    """Whether it is said of the string rather than of a sensor alone, and of no earlier season."""
    return not _of_sensor(part) and not _LONG_AGO.search(part)


def _of_sensor(part: str) -> bool:
    return bool(_SENSOR.search(part)) and not _STRING.search(part)


def _parts(
    note: str | None, words: str, denials: frozenset[str], denied: bool = False
) -> Iterator[str]:
    """The parts in which one of the words stands undenied, or if `denied` those where it is."""
    word = re.compile(rf"(?<![\w-])(?:{words})(?!\w){_DENIED_AFTER}", re.IGNORECASE)
    for part in _CLAUSE.split(note or ""):
        for match in word.finditer(part):
            before = part[: match.start()].lower().split()[-_WORDS_BEFORE:]
            if denials.isdisjoint(before) is not denied:
                yield part.strip()
