"""The `# key: value` lines of a trace file, to conditions, names and time."""

import math
import re
from dataclasses import dataclass
from datetime import datetime

from viewer.physics.nomenclature import quantity
from viewer.reading.notation.clock_text import TimeTextError, read_time
from viewer.reading.notation.units import HOUSE_UNIT, unit_of
from viewer.reading.plain.key_names import CONDITION_NAMES, Keys, by_known_names
from viewer.site_data.iv_trace import MeasuredConditions

_NUMBER_AND_UNIT = re.compile(
    r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*((?:[^\d\s.,+-].*)?)$"
)
_TIME_IN_NAME = re.compile(
    r"(?<!\d)(20\d\d)[-_.]?([01]\d)[-_.]?([0-3]\d)[T _-]?"
    r"([0-2]\d)[-_:h.]?([0-5]\d)(?:[-_:m.]?([0-5]\d))?(?!\d)"
)


TIME_FROM_NAME = "The time was taken from the file name."


@dataclass(frozen=True)
class TraceKeys:
    """What the key lines say, and one sentence for each that could not be used."""

    conditions: MeasuredConditions
    measured_at: datetime | None = None
    combiner: str | None = None
    string: str | None = None
    module: str | None = None
    serial: str | None = None
    note: str | None = None
    remarks: tuple[str, ...] = ()


def read_keys(keys: Keys) -> TraceKeys:
    """Meaning of the keys of the plain format; what it does not know is named in a sentence."""
    keys, remarks = by_known_names(keys)
    conditions = {
        name: _condition(name, *keys[name], remarks) for name in CONDITION_NAMES if name in keys
    }
    return TraceKeys(
        conditions=MeasuredConditions(**conditions),
        measured_at=_time(*keys["measured_at"], remarks) if "measured_at" in keys else None,
        combiner=_text(keys, "combiner"),
        string=_text(keys, "string"),
        module=_text(keys, "module"),
        serial=_text(keys, "serial"),
        note=_text(keys, "note"),
        remarks=tuple(remarks),
    )


def time_in_name(file_name: str) -> datetime | None:
    """The date and time of day a file name holds, such as 2024-05-17T101500, if it does."""
    for match in _TIME_IN_NAME.finditer(file_name):
        try:
            return datetime(*(int(part or 0) for part in match.groups()))  # type: ignore[arg-type]
        except ValueError:
            continue
    return None


def _text(keys: Keys, name: str) -> str | None:
    return (keys[name][0] or None) if name in keys else None


def _condition(name: str, text: str, line: int, remarks: list[str]) -> float | None:
    if not text:
        return None
    unit = quantity(name).unit
    match = _NUMBER_AND_UNIT.fullmatch(text)
    value = float(match[1]) if match else math.nan
    if match and math.isfinite(value):
        said = match[2].strip()
        if not said:
            return value
        known = unit_of(said)
        if known is not None and HOUSE_UNIT[known.kind] == unit:
            if (known.factor, known.offset) != (1.0, 0.0):
                remarks.append(f"Line {line}: {name} was converted from {known.spelling}.")
            return value * known.factor + known.offset
        remarks.append(
            f"Line {line}: {name} is in '{match[2].strip()}', not in {unit}; it was left out."
        )
        return None
    remarks.append(f"Line {line}: {name} is '{text[:40]}', not a number; it was left out.")
    return None


def _time(text: str, line: int, remarks: list[str]) -> datetime | None:
    if not text:
        return None
    try:
        return read_time(text)
    except TimeTextError as error:
        remarks.append(f"Line {line}: measured_at {error}; it was left out.")
        return None
