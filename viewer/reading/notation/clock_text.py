"""Dates and times of day in the ways people and instruments write them."""

import re
from datetime import UTC, datetime

EXAMPLE = "2024-05-17T10:15:00"

_DAY_FIRST = ("%d.%m.%Y", "%d.%m.%y", "%d-%m-%Y", "%d %b %Y", "%d-%b-%Y", "%d %B %Y", "%d-%b-%y")
_YEAR_FIRST = ("%Y/%m/%d", "%Y.%m.%d", "%Y%m%d", "%Y-%m-%d")
_MONTH_NAMED = ("%b %d %Y", "%b %d, %Y", "%B %d, %Y", "%B %d %Y", "%a %b %d %Y")
_TIMES = ("%H:%M:%S", "%H:%M", "%H:%M:%S.%f", "%I:%M:%S %p", "%I:%M %p", "%Hh%M", "%H%M%S", "")
_SLASHED = re.compile(r"^(\d{1,2})/(\d{1,2})/(\d{4})(.*)$")


_TIME_LIKE = re.compile(
    r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}(?:[T ,]+\d{1,2}:\d{2}\S*(?: [AP]M| ?UTC)?)?"
    r"|\d{1,2}:\d{2}(?::\d{2}\S*)?"
)


def looks_like_time(text: str) -> bool:
    """Whether the text is written like a date, a time of day or both."""
    return text[:1].isdigit() and len(text) <= 40 and _TIME_LIKE.fullmatch(text) is not None


class TimeTextError(ValueError):
    """A text that is no time, or may be two; the message is the end of a sentence about it."""


def read_time(text: str, pattern: str = "") -> datetime:
    """The time a text states; `pattern` as in strptime, "" to try the usual ones.

    Raises TimeTextError for text that is no time, and for 05/06/2024, which may be in May or
    June.
    """
    plain = " ".join(text.split())
    if pattern:
        try:
            return datetime.strptime(plain, pattern)
        except ValueError as error:
            raise TimeTextError(f"is '{text[:40]}', which does not fit '{pattern}'") from error
    for way in (_iso, _epoch, _slashed, _listed):
        found = way(plain)
        if found is not None:
            return found
    raise TimeTextError(f"is '{text[:40]}', not a time such as {EXAMPLE}")


def _iso(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        pass
    try:
        return datetime.fromisoformat(re.sub(r"\s*(UTC|GMT|Z)$", "+00:00", text).replace("/", "-"))
    except ValueError:
        return None


def _epoch(text: str) -> datetime | None:
    """Seconds since 1970 in UTC, between 2001 and 2286."""
    if not re.fullmatch(r"[1-9]\d{9}(\.\d+)?", text):
        return None
    return datetime.fromtimestamp(float(text), UTC)


def _slashed(text: str) -> datetime | None:
    match = _SLASHED.match(text)
    if match is None:
        return None
    one, two = int(match[1]), int(match[2])
    if one <= 12 and two <= 12 and one != two:
        raise TimeTextError(
            f"is '{text[:40]}', which may be day/month or month/day; say which in the recipe"
        )
    day, month = (one, two) if one > 12 or one == two else (two, one)
    return _listed(f"{day:02}.{month:02}.{match[3]}{match[4]}")


def _listed(text: str) -> datetime | None:
    if not re.match(r"[\w]", text) or len(text) > 40:
        return None
    for date in (*_DAY_FIRST, *_YEAR_FIRST, *_MONTH_NAMED):
        for time in _TIMES:
            for gap in (" ", "T", ", ") if time else ("",):
                try:
                    return datetime.strptime(text, date + gap + time)
                except ValueError:
                    continue
    return None
