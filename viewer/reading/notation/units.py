"""Spellings of units, and the factors from them to the units used inside.

Sources: SI prefixes (BIPM, The International System of Units, 9th edition); 1 mW/cm² is
10 W/m² and "1 sun" 1000 W/m² by definition.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """`value_inside = value * factor + offset`; `kind` is what the unit measures."""

    spelling: str
    kind: str
    factor: float
    offset: float = 0.0


HOUSE_UNIT = {
    "voltage": "V",
    "current": "A",
    "power": "W",
    "irradiance": "W/m²",
    "temperature": "°C",
    "speed": "m/s",
    "time": "s",
}
"""What each kind is measured in inside."""

_UNITS = (
    *(Unit(s, "voltage", f) for s, f in (("V", 1.0), ("mV", 1e-3), ("kV", 1e3), ("µV", 1e-6))),
    *(Unit(s, "current", f) for s, f in (("A", 1.0), ("mA", 1e-3), ("kA", 1e3), ("µA", 1e-6))),
    *(Unit(s, "power", f) for s, f in (("W", 1.0), ("mW", 1e-3), ("kW", 1e3), ("MW", 1e6))),
    Unit("W/m²", "irradiance", 1.0),
    Unit("kW/m²", "irradiance", 1e3),
    Unit("mW/cm²", "irradiance", 10.0),
    Unit("W/cm²", "irradiance", 1e4),
    Unit("sun", "irradiance", 1e3),
    Unit("°C", "temperature", 1.0),
    Unit("K", "temperature", 1.0, -273.15),
    Unit("°F", "temperature", 5.0 / 9.0, -160.0 / 9.0),
    Unit("m/s", "speed", 1.0),
    Unit("km/h", "speed", 1.0 / 3.6),
    Unit("mph", "speed", 0.44704),
    Unit("s", "time", 1.0),
    Unit("ms", "time", 1e-3),
    Unit("µs", "time", 1e-6),
    Unit("min", "time", 60.0),
    Unit("h", "time", 3600.0),
)
_OTHER_SPELLINGS = {
    "volt": "V",
    "volts": "V",
    "millivolt": "mV",
    "millivolts": "mV",
    "amp": "A",
    "amps": "A",
    "ampere": "A",
    "amperes": "A",
    "milliamp": "mA",
    "milliamps": "mA",
    "watt": "W",
    "watts": "W",
    "wm-2": "W/m²",
    "w/qm": "W/m²",
    "suns": "sun",
    "c": "°C",
    "degc": "°C",
    "deg.c": "°C",
    "celsius": "°C",
    "degreec": "°C",
    "degreescelsius": "°C",
    "f": "°F",
    "degf": "°F",
    "kelvin": "K",
    "ms-1": "m/s",
    "kmh": "km/h",
    "sec": "s",
    "secs": "s",
    "second": "s",
    "seconds": "s",
    "msec": "ms",
    "minutes": "min",
}


def _plain(spelling: str) -> str:
    text = spelling.strip().replace("²", "2").replace("^", "").replace("μ", "µ").replace("º", "°")
    return re.sub(r"[\s*·]+", "", text)


_EXACT = {_plain(unit.spelling): unit for unit in _UNITS}
_FOLDED: dict[str, Unit] = {}
for _unit in _UNITS:
    _FOLDED.setdefault(_plain(_unit.spelling).lower(), _unit)
for _other, _name in _OTHER_SPELLINGS.items():
    _FOLDED.setdefault(_other, _EXACT[_plain(_name)])
for _micro, _right in (("uV", "µV"), ("uA", "µA"), ("us", "µs")):
    _EXACT[_micro] = _EXACT[_right]

_BRACKETED = re.compile(r"^(.*?)\s*[(\[{<]\s*([^()\[\]{}<>]{1,20}?)\s*[)\]}>]\s*$")
_SEPARATED = re.compile(r"^(.+?)(?:\s*/\s*|\s+in\s+|\s*,\s*|[_\s]+)([^\s,_]{1,12})$")


def unit_of(spelling: str) -> Unit | None:
    """The unit so spelt, or None. Capitals matter where they tell m (milli) from M (mega)."""
    plain = _plain(spelling)
    return _EXACT.get(plain) or _FOLDED.get(plain.lower())


def split_unit(header: str) -> tuple[str, str]:
    """A heading to its name and its unit's spelling: "U [mV]", "I/A", "power, W", "v_mV".

    The unit is "" when there is none; a heading that is a unit alone stays a name.
    """
    text = header.strip()
    if (match := _BRACKETED.match(text)) and (unit_of(match[2]) or not match[1].strip()):
        return match[1].strip() or match[2], match[2]
    if (match := _SEPARATED.match(text)) and unit_of(match[2]) and len(match[1].strip()) > 0:
        return match[1].strip(" ,/_"), match[2]
    return text, ""


def converter(spelling: str, kind: str) -> Callable[[float], float] | None:
    """From that unit to the house unit of `kind`; None if the unit measures something else."""
    unit = unit_of(spelling)
    if unit is None or unit.kind != kind:
        return None
    factor, offset = unit.factor, unit.offset
    return lambda value: value * factor + offset
