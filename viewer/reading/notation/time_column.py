"""A column of times to seconds, in bulk."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from viewer.reading.notation.clock_text import EXAMPLE, TimeTextError, read_time

if TYPE_CHECKING:
    import pandas as pd

_SLASHED = re.compile(r"^(\d{1,2})/(\d{1,2})/\d{4}")


@dataclass(frozen=True, eq=False)
class TimeColumn:
    """times [s] since 1970 in UTC if `zoned`, else as the clock showed; NaN for no time."""

    times: NDArray[np.float64]
    zoned: bool


def read_time_column(cells: Sequence[str]) -> TimeColumn:
    """The column's times. Raises TimeTextError if its first filled cell is no time.

    Days and months of 05/06/2024 are told apart by the other cells, if any has a day above 12.
    """
    import pandas as pd  # not above: it is slow to load, and the window starts without it

    first = next((cell for cell in cells if cell.strip()), "")
    order = _slash_order(cells) if _SLASHED.match(first.strip()) else ""
    zoned = _first_time(first, order).tzinfo is not None
    series = pd.Series(list(cells), dtype="str").str.strip()
    parsed = _in_bulk(series, first, order, zoned)
    begin = pd.Timestamp("1970-01-01", tz="UTC")  # in seconds: in ns the year 6024 would not fit
    seconds = (parsed - begin).dt.total_seconds().to_numpy(dtype=float)
    return TimeColumn(np.asarray(seconds, dtype=np.float64), zoned)


def _first_time(first: str, order: str) -> "pd.Timestamp":
    import pandas as pd  # not above: it is slow to load, and the window starts without it

    if order:
        try:
            found = pd.to_datetime(first, dayfirst=order == "day first", errors="raise")
        except ValueError as error:
            raise TimeTextError(f"is '{first[:40]}', not a time such as {EXAMPLE}") from error
        return pd.Timestamp(found)
    return pd.Timestamp(read_time(first))


def _in_bulk(series: "pd.Series[str]", first: str, order: str, zoned: bool) -> "pd.Series":
    """By pandas where the writing is the usual; else each different text once."""
    import pandas as pd  # not above: it is slow to load, and the window starts without it

    if re.fullmatch(r"[1-9]\d{9}(\.\d+)?", first.strip()):
        return pd.to_datetime(
            pd.to_numeric(series, errors="coerce"), unit="s", utc=True, errors="coerce"
        )
    if re.match(r"\d{4}-\d\d-\d\d", first.strip()):
        plain = series.str.replace(r"\s*(?:UTC|GMT)$", "+00:00", regex=True)
        return pd.to_datetime(plain, format="ISO8601", utc=True, errors="coerce")
    if order:
        return pd.to_datetime(
            series, dayfirst=order == "day first", format="mixed", utc=True, errors="coerce"
        )
    known = {text: _or_none(text) for text in series.unique()}
    moments = [known[text] for text in series]
    return pd.to_datetime(pd.Series(moments, dtype="object"), utc=True, errors="coerce")


def _or_none(text: str) -> "pd.Timestamp | None":
    import pandas as pd  # not above: it is slow to load, and the window starts without it

    try:
        return pd.Timestamp(read_time(text))
    except TimeTextError:
        return None


def _slash_order(cells: Sequence[str]) -> str:
    """ "day first" or "month first", as the cells beyond the twelfth show."""
    firsts, seconds = set(), set()
    for cell in cells:
        if match := _SLASHED.match(cell.strip()):
            firsts.add(int(match[1]))
            seconds.add(int(match[2]))
    if max(firsts) > 12 >= max(seconds):
        return "day first"
    if max(seconds) > 12 >= max(firsts):
        return "month first"
    raise TimeTextError(
        f"is written like '{cells[0][:30]}', which may be day/month or month/day in every row; "
        "write the year first"
    )
