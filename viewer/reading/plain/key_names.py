"""Keys of a trace file by their own names, and what becomes of the others.

A key that says in other words exactly what a known one says (`Irradiance`) is read as that one.
One that only looks like a known one (`temperature_modul`) is not used: both are told.
"""

import difflib
from collections.abc import Mapping

from viewer.physics.nomenclature import CONDITIONS
from viewer.reading.notation.column_words import meaning_of, names_a_temperature
from viewer.reading.notation.units import split_unit

Keys = Mapping[str, tuple[str, int]]
"""Key in small letters to its text and the line it stands on."""

CONDITION_NAMES = tuple(one.name for one in CONDITIONS)
KNOWN = ("combiner", "string", "measured_at", *CONDITION_NAMES, "module", "serial", "note")
"""All keys of the plain format."""

ALIKE = 0.8
"""Share of common letters from which a key may be a slip of the pen (judgement)."""

WORDS_OF_A_KEY = 4
"""A comment of more words before its colon is prose (judgement)."""

NAMED = 6
"""Unknown keys that are named in one sentence; the others are counted."""


def by_known_names(keys: Keys) -> tuple[Keys, list[str]]:
    """The keys under the names the format knows, and one sentence for each read by another name
    and one for all that are not used.
    """
    others = [key for key in keys if key not in KNOWN]
    if not others:
        return keys, []
    known = {key: found for key, found in keys.items() if key in KNOWN}
    remarks: list[str] = []
    unused: list[str] = []
    clock: list[str] = []
    for key in others:
        name, unit = split_unit(key)
        meaning = meaning_of(name)
        role = meaning.role if meaning is not None and meaning.exact else ""
        if role in ("date", "clock", "point_time"):
            clock.append(key)
        elif role in KNOWN and role not in known:
            text, line = keys[key]
            known[role] = f"{text} {unit}".strip(), line
            remarks.append(f"Line {line}: '{key}' was read as {role}.")
        else:
            unused.append(key)
    unused += _day_and_time(keys, clock, known, remarks)
    said = [key for key in unused if len(key.split()) <= WORDS_OF_A_KEY]
    return known, remarks + ([_not_used(said)] if said else [])


def _day_and_time(
    keys: Keys, clock: list[str], known: dict[str, tuple[str, int]], remarks: list[str]
) -> list[str]:
    """The keys of a day and a time of day that were not made one time of measurement."""
    dates = [key for key in clock if _role(key) == "date"]
    times = [key for key in clock if _role(key) != "date"]
    if not clock or len(dates) > 1 or len(times) > 1 or "measured_at" in known:
        return clock
    used = (*dates, *times)
    line = keys[used[0]][1]
    known["measured_at"] = " ".join(keys[key][0] for key in used), line
    names = " and ".join(f"'{key}'" for key in used)
    verb = "was" if len(used) == 1 else "were"
    remarks.append(f"Line {line}: {names} {verb} read as measured_at.")
    return []


def _role(key: str) -> str:
    meaning = meaning_of(split_unit(key)[0])
    return meaning.role if meaning is not None else ""


def _not_used(keys: list[str]) -> str:
    named = [f"'{key[:40]}'{_hint(key)}" for key in keys[:NAMED]]
    more = [f"{len(keys) - NAMED} more"] if len(keys) > NAMED else []
    what = "This key is none" if len(keys) == 1 else "These keys are none"
    verb = "was" if len(keys) == 1 else "were"
    return f"{what} of the format and {verb} not used: {', '.join(named + more)}."


def _hint(key: str) -> str:
    """The known key that was probably meant, in brackets."""
    name, role = split_unit(key)[0], _role(key)
    if role not in KNOWN and names_a_temperature(name):
        return " (of the module, the cell or the air?)"
    if role not in KNOWN:
        alike = difflib.get_close_matches("_".join(name.split()), KNOWN, 1, ALIKE)
        role = alike[0] if alike else ""
    return f" (is {role} meant?)" if role else ""
