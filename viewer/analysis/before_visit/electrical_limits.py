"""The highest voltages and currents that strings can put on equipment and instruments.

Voltage: the datasheet's Voc moved by beta_voc to the lowest temperature ever recorded at the
site, the cells taken to be as cold as the air (a clear dawn). Beside it, for crystalline
silicon, the correction factors of NEC Table 690.7(A). Current: Isc times 1.25 for irradiance
above 1000 W/m² (NEC 690.8(A)(1); IEC 62548 uses the same factor for string Isc). Values of
both codes are from memory: the edition in force at the site and a qualified person decide.
"""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from viewer.physics.conditions import TEMPERATURE_REF
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

RATING_CLASSES: tuple[float, ...] = (600.0, 1000.0, 1500.0)
"""Usual DC voltage classes of PV equipment, V."""

CURRENT_FACTOR = 1.25
"""NEC 690.8(A)(1) and IEC 62548, from memory."""

EQUIPMENT, MEASURING_SET = "equipment", "measuring set"
"""Whose rating a value is held against."""

# NEC Table 690.7(A), from memory: lowest temperature [°C] of each row and its factor.
_NEC_ROWS: tuple[tuple[float, float], ...] = (
    (-40.0, 1.25),
    (-35.0, 1.23),
    (-30.0, 1.21),
    (-25.0, 1.20),
    (-20.0, 1.18),
    (-15.0, 1.16),
    (-10.0, 1.14),
    (-5.0, 1.12),
    (0.0, 1.10),
    (5.0, 1.08),
    (10.0, 1.06),
    (15.0, 1.04),
    (20.0, 1.02),
)
_NEC_WARMEST = 25.0

NEAR_SHARE = 0.95
"""From this share of a rating on, a value is called near it (common practice, no source)."""


def nec_voltage_factor(temperature_min: float) -> float | None:
    """Correction factor of NEC Table 690.7(A) at the lowest ambient temperature [°C].

    1.0 at 25 °C and above; None below -40 °C, where the table ends. Between whole degrees the
    colder row counts.
    """
    if temperature_min >= _NEC_WARMEST:
        return 1.0
    starts = [start for start, _ in _NEC_ROWS]
    if temperature_min < starts[0]:
        return None
    return _NEC_ROWS[bisect_right(starts, temperature_min) - 1][1]


def v_oc_at(datasheet: Datasheet, temperature: float) -> float:
    """Voc of one module [V] at a cell temperature [°C] and 1000 W/m², by beta_voc alone."""
    return datasheet.v_oc * (1 + datasheet.beta_voc / 100 * (temperature - TEMPERATURE_REF))


@dataclass(frozen=True)
class MeasuringSet:
    """The ratings of the instruments to be connected, as the user enters them."""

    name: str
    voltage: float
    current: float
    category: str = ""
    """Measurement category of IEC 61010-2-030 as printed on the instrument, such as CAT III."""


@dataclass(frozen=True)
class Limit:
    """One value against one rating, that of EQUIPMENT or of the MEASURING_SET.

    `against` are the words before the rating; `state` is "within", "near" or "exceeds".
    """

    what: str
    value: float
    unit: str
    against: str
    rating: float
    whose: str

    @property
    def state(self) -> str:
        if self.value > self.rating:
            return "exceeds"
        return "near" if self.value >= NEAR_SHARE * self.rating else "within"

    @property
    def text(self) -> str:
        words = {"exceeds": "exceeds", "near": "is near", "within": "is within"}[self.state]
        return (
            f"{self.what} {self.value:.1f} {self.unit} {words} {self.against} "
            f"{self.rating:.0f} {self.unit}"
        )


@dataclass(frozen=True)
class StringLimits:
    """Extremes of one string and how they stand against the ratings."""

    combiner: str
    string: str
    v_oc_max: float
    """Voc at the record-low temperature from beta_voc, V."""
    v_oc_max_nec: float | None
    """The same by NEC Table 690.7(A); None where the table does not apply."""
    v_oc_stc: float
    i_sc_max: float
    """Isc times 1.25 of all strings traced as one, A."""
    voltage_class: float | None
    """The lowest usual class that the higher voltage fits in, or None above all of them."""
    limits: tuple[Limit, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class CombinerLimits:
    combiner: str
    v_oc_max: float
    i_sc_sum: float
    """Sum of the strings' Isc times 1.25, A."""
    limits: tuple[Limit, ...]
    strings: tuple[StringLimits, ...]
    temperature_min: float
    """The lowest temperature that the voltages are for, °C."""


def _class_of(voltage: float) -> float | None:
    return next((rating for rating in RATING_CLASSES if voltage <= rating), None)


def _remarks(module: Datasheet, temperature_min: float, nec: float | None) -> tuple[str, ...]:
    said = []
    if module.bifaciality > 0:
        said.append(
            "bifacial module: light on the rear adds to Isc; take the datasheet's Isc with the "
            "rear gain expected at this site where the code asks for it"
        )
    if not module.crystalline:
        said.append("NEC Table 690.7(A) is for crystalline silicon: the datasheet decides here")
    elif nec is None:
        said.append(f"NEC Table 690.7(A) ends at -40 °C, above {temperature_min:g} °C")
    return tuple(said)


def _string_limits(
    combiner: str,
    string: StringLayout,
    module: Datasheet,
    temperature_min: float,
    equipment_voltage: float | None,
    measuring_set: MeasuringSet | None,
) -> StringLimits:
    v_oc_stc = module.v_oc * string.modules_in_series
    v_oc_max = v_oc_at(module, temperature_min) * string.modules_in_series
    factor = nec_voltage_factor(temperature_min) if module.crystalline else None
    by_nec = None if factor is None else v_oc_stc * factor
    i_sc_max = CURRENT_FACTOR * module.i_sc * string.strings_in_parallel
    highest = max(v_oc_max, by_nec or 0.0)
    limits = []
    if equipment_voltage is not None:
        against = "the equipment's rating of"
        limits.append(Limit("Voc", highest, "V", against, equipment_voltage, EQUIPMENT))
    if measuring_set is not None:
        against = f"the rating of {measuring_set.name} of"
        volts, amps = measuring_set.voltage, measuring_set.current
        limits.append(Limit("Voc", highest, "V", against, volts, MEASURING_SET))
        limits.append(Limit("1.25 Isc", i_sc_max, "A", against, amps, MEASURING_SET))
    return StringLimits(
        combiner,
        string.name,
        v_oc_max,
        by_nec,
        v_oc_stc,
        i_sc_max,
        _class_of(highest),
        tuple(limits),
        _remarks(module, temperature_min, factor),
    )


def _combiner_limits(
    combiner: Combiner,
    strings: Iterable[StringLimits],
    equipment_current: float | None,
    temperature_min: float,
) -> CombinerLimits:
    rows = tuple(strings)
    total = sum(row.i_sc_max for row in rows)
    highest = max((max(row.v_oc_max, row.v_oc_max_nec or 0.0) for row in rows), default=0.0)
    limits: tuple[Limit, ...] = ()
    if equipment_current is not None:
        against = "the combiner's rating of"
        limits = (Limit("sum of 1.25 Isc", total, "A", against, equipment_current, EQUIPMENT),)
    return CombinerLimits(combiner.name, highest, total, limits, rows, temperature_min)


def electrical_limits(
    layout: SiteLayout,
    temperature_min: float,
    equipment_voltage: float | None = None,
    combiner_current: float | None = None,
    measuring_set: MeasuringSet | None = None,
) -> tuple[CombinerLimits, ...]:
    """Every combiner's strings at their extremes.

    temperature_min: lowest temperature on record at the site [°C]. equipment_voltage [V] and
    combiner_current [A]: ratings to compare with, where known. Nothing is refused: the person
    decides, the numbers are written down.
    """
    return tuple(
        _combiner_limits(
            combiner,
            (
                _string_limits(
                    combiner.name,
                    string,
                    layout.modules[string.module],
                    temperature_min,
                    equipment_voltage,
                    measuring_set,
                )
                for string in combiner.strings
                if string.module in layout.modules
            ),
            combiner_current,
            temperature_min,
        )
        for combiner in layout.combiners
    )
