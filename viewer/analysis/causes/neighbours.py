"""What the other strings say: a fault moves one string, a wrong reading moves all alike.

The strings of one combiner, traced within a short time, share sun, sensor and temperature. The
median of their deviations, with a robust spread, tells whether a deviation is common to all (the
irradiance or temperature reading, or common soiling) or the string's own.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.site_data.visit_grouping import comparable

Array = NDArray[np.float64]
NAN = float("nan")

MAD_TO_SIGMA = 1.4826
"""Median absolute deviation to standard deviation of a normal distribution."""
LEAST_NEIGHBOURS = 3
NEAR_IN_TIME = 45.0
"""Strings traced within this many minutes share the sensors' state."""
COMMON_CURRENT = 0.025
COMMON_VOLTAGE = 0.009
"""Medians beyond these (relative) count as a common deviation."""
SPREAD_OF_CURRENT = 0.010
SPREAD_OF_VOLTAGE = 0.0025
"""Sound strings differ by at least about this (standard deviation, relative)."""
AGREEING_CURRENT = 0.02
AGREEING_VOLTAGE = 0.006
"""Neighbours that differ by more than this (standard deviation) prove nothing."""
BESIDE = 4
"""So many strings traced next to one tell what a sensor did that drifts or came off meanwhile. It
is not asked of current: a row of dirty strings at the end of a combiner looks like that."""
MOSTLY_OWN = 0.6
"""The share of a common loss of current that must be the combiner's own."""
MANY_WITH_STEPS = 0.3
OUTLYING = 3.0
"""A string further from its neighbours' median than this many spreads deviates by itself."""

ALIKE, APART = (
    "Most strings of the combiner are alike: ",
    "This string is apart from most of its combiner: ",
)


@dataclass(frozen=True)
class StringDeviation:
    """One string's deviations, relative (measured over predicted, less one)."""

    string: str
    current: float
    voltage: float
    has_steps: bool = False
    measured_at: datetime | None = None
    temperature: float = NAN
    """The cell temperature that was read [°C]."""


@dataclass(frozen=True)
class NeighbourEvidence:
    """What the neighbours of one string show; deviations are relative.

    common_current, common_voltage: the neighbours' medians. own_current, own_voltage: the
    string's deviation less its neighbours' median, and *_spreads the same in spreads.
    own_temperature: the cell temperature read less the neighbours' median [K].
    """

    neighbours: int
    common_current: float
    common_voltage: float
    own_current: float
    own_voltage: float
    own_current_spreads: float
    own_voltage_spreads: float
    strings_with_steps: int
    current_spread: float = SPREAD_OF_CURRENT
    voltage_spread: float = SPREAD_OF_VOLTAGE
    own_temperature: float = NAN
    own_combiner: float = 0.0
    """By how much all of the combiner's strings lie below those of other combiners that were
    traced near in time, in current (at most 0); 0 where there are none."""

    @property
    def combiner_is_apart(self) -> bool:
        """Whether most of what is common is this combiner's own, which no wrong reading makes."""
        return self.current_is_common and self.own_combiner < MOSTLY_OWN * self.common_current < 0.0

    @property
    def current_agrees(self) -> bool:
        """Whether the neighbours agree in current, so that they can be a reference."""
        return self.enough and self.current_spread <= AGREEING_CURRENT

    @property
    def voltage_agrees(self) -> bool:
        return self.enough and self.voltage_spread <= AGREEING_VOLTAGE

    @property
    def voltage_outlies(self) -> bool:
        """Whether the string's voltage is apart from its neighbours'."""
        return self.voltage_agrees and abs(self.own_voltage_spreads) >= OUTLYING

    @property
    def current_outlies(self) -> bool:
        """Whether the string's current is apart from its neighbours'."""
        return self.current_agrees and abs(self.own_current_spreads) >= OUTLYING

    @property
    def many_have_steps(self) -> bool:
        """Whether stairs are common among the neighbours, as a row of shade makes them."""
        return (
            self.strings_with_steps >= 2
            and self.strings_with_steps >= MANY_WITH_STEPS * self.neighbours
        )

    @property
    def enough(self) -> bool:
        return self.neighbours >= LEAST_NEIGHBOURS

    @property
    def current_is_common(self) -> bool:
        """Whether the string's current deviates only as much as its neighbours' does."""
        return (
            self.current_agrees
            and abs(self.common_current) > COMMON_CURRENT
            and not self.current_outlies
        )

    @property
    def voltage_is_common(self) -> bool:
        return (
            self.enough and abs(self.common_voltage) > COMMON_VOLTAGE and not self.voltage_outlies
        )

    @property
    def current_told(self) -> str:
        """What was measured of the current, in a sentence."""
        return self._told(
            "current",
            self.common_current,
            self.own_current,
            self.current_is_common,
            self.current_outlies,
        )

    @property
    def voltage_told(self) -> str:
        """What was measured of the voltage, in a sentence."""
        return self._told(
            "voltage",
            self.common_voltage,
            self.own_voltage,
            self.voltage_is_common,
            self.voltage_outlies,
        )

    def _told(
        self, quantity: str, common: float, own: float, is_common: bool, outlies: bool
    ) -> str:
        alike = ALIKE if is_common else APART if outlies else ""
        return (
            f"{alike}{self.neighbours} others deviate by {100 * common:+.1f} % in "
            f"{quantity} (median), this string by {100 * (common + own):+.1f} %."
        )


def minutes_of(one: StringDeviation) -> float:
    """When the string was traced, in minutes from some moment on; NaN where that is not told."""
    return comparable(one.measured_at).timestamp() / 60.0 if one.measured_at else NAN


def first_of_each(names: Sequence[str] | NDArray[np.object_], order: Iterable[int]) -> list[int]:
    """Of the places in `order` the first of each name: of a string's traces one speaks."""
    first: dict[str, int] = {}
    for place in order:
        first.setdefault(names[place], place)
    return list(first.values())


def deviation_of(
    reading: SignatureReading,
    string: str,
    measured_at: datetime | None = None,
    temperature: float | None = None,
) -> StringDeviation:
    """The deviations of a string whose signatures were read."""
    return StringDeviation(
        string=string,
        current=reading.current_scale - 1.0,
        voltage=-reading.voltage.lost,
        has_steps=bool(reading.stairs),
        measured_at=measured_at,
        temperature=NAN if temperature is None else temperature,
    )


@dataclass(frozen=True, eq=False)
class _Columns:
    """Strings as arrays of one length; minutes are NaN where no time is told."""

    names: NDArray[np.object_]
    current: Array
    voltage: Array
    minutes: Array
    steps: Array
    temperature: Array
    repeated: bool
    """Whether a string was traced more than once."""

    @classmethod
    def of(cls, strings: Sequence[StringDeviation]) -> "_Columns":
        return cls(
            np.array([s.string for s in strings], dtype=object),
            np.array([s.current for s in strings]),
            np.array([s.voltage for s in strings]),
            np.array([minutes_of(s) for s in strings]),
            np.array([s.has_steps for s in strings], dtype=float),
            np.array([s.temperature for s in strings]),
            len({s.string for s in strings}) < len(strings),
        )

    def near(self, place: int) -> NDArray[np.bool_]:
        """Which are neighbours of the one at `place`: one trace of each other string."""
        others = self.names != self.names[place]
        away = np.abs(self.minutes - self.minutes[place])
        if np.isfinite(self.minutes[place]):
            others &= ~(away > NEAR_IN_TIME)
        if self.repeated:
            nearest = np.argsort(np.where(np.isfinite(away), away, np.inf), kind="stable")
            once = np.zeros(others.size, dtype=bool)
            once[first_of_each(self.names, nearest.tolist())] = True
            others &= once
        return others


def neighbour_evidences(
    strings: Sequence[StringDeviation], own_combiner: float = 0.0
) -> list[NeighbourEvidence]:
    """Evidence for each string of a combiner from all the others.

    `own_combiner` is the combiner's own part of their deviation in current, if that is known.
    """
    columns = _Columns.of(strings)
    return [_evidence(own, columns, place, own_combiner) for place, own in enumerate(strings)]


def _evidence(
    own: StringDeviation,
    columns: _Columns,
    place: int,
    own_combiner: float,
) -> NeighbourEvidence:
    near = columns.near(place)
    later = columns.minutes - columns.minutes[place]
    current, voltage, steps = columns.current, columns.voltage, columns.steps
    temperature = columns.temperature[near & np.isfinite(columns.temperature)]
    common_current, spread_current = robust_centre(
        current[near & np.isfinite(current)], SPREAD_OF_CURRENT
    )
    common_voltage, spread_voltage = _common_voltage(
        voltage, later, near & np.isfinite(voltage), own.voltage
    )
    return NeighbourEvidence(
        neighbours=int(near.sum()),
        common_current=common_current,
        common_voltage=common_voltage,
        own_current=own.current - common_current,
        own_voltage=own.voltage - common_voltage,
        own_current_spreads=(own.current - common_current) / spread_current,
        own_voltage_spreads=(own.voltage - common_voltage) / spread_voltage,
        strings_with_steps=int(steps[near].sum()),
        current_spread=spread_current,
        voltage_spread=spread_voltage,
        own_temperature=own.temperature - robust_centre(temperature, 1.0)[0]
        if temperature.size
        else NAN,
        own_combiner=own_combiner,
    )


def _common_voltage(
    voltage: Array, later: Array, near: NDArray[np.bool_], own: float
) -> tuple[float, float]:
    """The neighbours' median and spread; where the string is apart from them, those of the strings
    traced next to it, just after or just before it: of the first that it agrees with, or the first.

    `later` is by how many minutes each was traced after the string; NaN where that is not known.
    """
    common, spread = robust_centre(voltage[near], SPREAD_OF_VOLTAGE)
    if spread <= AGREEING_VOLTAGE and abs(own - common) < OUTLYING * spread:
        return common, spread
    beside = []
    timed = near & np.isfinite(later)
    for side in (timed, timed & (later > 0.0), timed & (later < 0.0)):
        nearest = np.argsort(np.where(side, np.abs(later), np.inf))[:BESIDE]
        centre, apart = robust_centre(voltage[nearest], SPREAD_OF_VOLTAGE)
        if int(side.sum()) >= BESIDE and apart <= AGREEING_VOLTAGE:
            if abs(own - centre) < OUTLYING * apart:
                return centre, apart
            beside.append((centre, apart))
    return beside[0] if beside else (common, spread)


def robust_centre(values: Array, least_spread: float) -> tuple[float, float]:
    """Median and robust standard deviation (at least `least_spread`); 0 where no values are."""
    if values.size == 0:
        return 0.0, least_spread
    centre = float(np.median(values))
    spread = MAD_TO_SIGMA * float(np.median(np.abs(values - centre)))
    # the median of n values is itself uncertain by about 1.25 s / sqrt(n)
    widened = float(np.hypot(spread, 1.25 * spread / np.sqrt(values.size)))
    return centre, max(widened, least_spread)
