"""What one device's own traces give, as lines for a terminal and as data for other programs."""

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from viewer.analysis.device.other_conditions import AtConditions
from viewer.analysis.device.own_datasheet import OwnDatasheet
from viewer.analysis.device.usable_traces import conditions_of
from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.prediction.standard_conditions import STANDARD
from viewer.physics.curve_fit.parameter_fit import ParameterFit
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINTS, Quantity, quantity, with_minus
from viewer.physics.single_diode import DiodeParameters
from viewer.physics.uncertainty.uncertainty import COVERAGE, decimals_by
from viewer.reports.plain_table import aligned

MISSING = "–"
POA, CELL = quantity("poa_global"), quantity("temperature_cell")


def place_words(poa_global: float, temperature_cell: float) -> str:
    return f"{poa_global:.0f} W/m² and {with_minus(f'{temperature_cell:.1f}')} °C"


def translated_lines(made: Sequence[AtConditions], to: tuple[float, float]) -> list[str]:
    """A row for each curve, then how it came about."""
    headings = ("Trace", *(f"{one.heading}  ± (k=2)" for one in KEY_POINTS))
    rows = [(_source(one), *_values(one.key_points, one.uncertainty)) for one in made]
    lines = [f"At {place_words(*to)}:", ""]
    lines += aligned(headings, rows, set(headings[1:]))
    said = dict.fromkeys(text for one in made for text in (one.procedure, *one.remarks))
    return [*lines, "", *(with_minus(text if text.endswith(".") else f"{text}.") for text in said)]


def _source(one: AtConditions) -> str:
    return one.sources[0] if len(one.sources) == 1 else f"between {len(one.sources)} traces"


def _values(points: KeyPoints, spread: KeyPoints | None) -> list[str]:
    return [
        f"{one.text(getattr(points, one.name))}  ± {_spread(one, spread)}" for one in KEY_POINTS
    ]


def _spread(one: Quantity, spread: KeyPoints | None) -> str:
    return MISSING if spread is None else one.text(getattr(spread, one.name))


def translated_data(made: Sequence[AtConditions], to: tuple[float, float]) -> dict[str, Any]:
    return {
        "poa_global": to[0],
        "temperature_cell": to[1],
        "curves": [
            {
                "traces": list(one.sources),
                "procedure": one.procedure,
                "key_points": one.key_points.as_dict(),
                "uncertainty": None if one.uncertainty is None else one.uncertainty.as_dict(),
                "voltage": one.curve.voltage.tolist(),
                "current": one.curve.current.tolist(),
                "remarks": list(one.remarks),
            }
            for one in made
        ],
    }


def condition_lines(usable: Sequence[Prepared]) -> list[str]:
    """The traces with the conditions that were taken for them."""
    headings = ("Trace", "Measured at", POA.heading, CELL.heading)
    rows = []
    for one in usable:
        at = one.trace.measured_at
        poa, cell = conditions_of(one)
        when = f"{at:%Y-%m-%d %H:%M}" if at else MISSING
        rows.append((one.trace.source, when, POA.text(poa), CELL.text(cell)))
    return aligned(headings, rows, set(headings[2:]))


PARAMETERS: tuple[tuple[str, str, str], ...] = (
    ("photocurrent", "Photocurrent", "A"),
    ("saturation_current", "Saturation current", "A"),
    ("resistance_series", "Series resistance", "Ω"),
    ("resistance_shunt", "Shunt resistance", "Ω"),
    ("nNsVth", "nNsVth", "V"),
)
"""Of the single diode: name, words and unit."""


def parameter_rows(named: Sequence[tuple[str, ParameterFit]]) -> list[str]:
    """A row for each fit with expanded uncertainties, then what is to be said of some."""
    headings = ("Fit", *(f"{words} ({unit})" for _, words, unit in PARAMETERS), "Misfit (mA)")
    rows = [
        (
            name,
            *(_parameter(fit, one) for one, _, _ in PARAMETERS),
            f"{1000.0 * fit.misfit:.1f}" if fit.misfit == fit.misfit else MISSING,
        )
        for name, fit in named
    ]
    lines = aligned(headings, rows, set(headings[1:]))
    said = [f"{name}: {with_minus(text)}" for name, fit in named for text in fit.remarks]
    return [*lines, *([""] if said else []), *said]


def _parameter(fit: ParameterFit, name: str) -> str:
    value = float(getattr(fit.parameters, name))
    spread = COVERAGE * float(getattr(fit.standard_uncertainty, name))
    if value == float("inf"):
        return "no leakage shows"
    if value != value:
        return MISSING
    return value_and_spread(value, spread)


def value_and_spread(value: float, spread: float) -> str:
    """Both to the spread's second digit; of small numbers in one power of ten."""
    if not (math.isfinite(spread) and spread > 0.0):
        return f"{value:.4g} ± {MISSING}"
    exponent = math.floor(math.log10(abs(value))) if 0.0 < abs(value) < 1e-3 else 0
    value, spread = value / 10.0**exponent, spread / 10.0**exponent
    decimals = decimals_by(spread)
    told = f"{value:.{decimals}f} ± {spread:.{decimals}f}"
    return f"({told})e{exponent}" if exponent else told


def parameter_data(name: str, fit: ParameterFit) -> dict[str, Any]:
    """Expanded uncertainties with k = 2; the covariance is of standard uncertainties (k = 1)."""
    return {
        "fit": name,
        "meaningful": fit.meaningful,
        "parameters": _five(fit.parameters, 1.0),
        "uncertainty": _five(fit.standard_uncertainty, COVERAGE),
        "covariance": fit.covariance.tolist(),
        "misfit": fit.misfit,
        "remarks": list(fit.remarks),
    }


def _five(parameters: DiodeParameters, factor: float) -> dict[str, float]:
    return {name: factor * float(getattr(parameters, name)) for name, _, _ in PARAMETERS}


def datasheet_lines(made: OwnDatasheet, usable: Sequence[Prepared]) -> list[str]:
    """How the values came about and how well the model meets every trace."""
    headings = ("Trace", POA.heading, CELL.heading, "Pmp of the model, off by (%)")
    rows = []
    for one, missed in zip(usable, made.missed.tolist(), strict=True):
        poa, cell = conditions_of(one)
        off = with_minus(f"{100.0 * missed:+.2f}")
        rows.append((one.trace.source, POA.text(poa), CELL.text(cell), off))
    lines = aligned(headings, rows, set(headings[1:]))
    said = (made.at_standard.procedure, *made.remarks)
    return [*lines, "", *(with_minus(text if text.endswith(".") else f"{text}.") for text in said)]


def datasheet_data(made: OwnDatasheet) -> dict[str, Any]:
    return {
        "datasheet": {**asdict(made.datasheet), "matrix": None},
        "rows": [one._asdict() for one in made.datasheet.matrix],
        "at_standard": translated_data([made.at_standard], STANDARD),
        "power_missed": made.missed.tolist(),
        "remarks": list(made.remarks),
    }
