"""The numbers of the key-point pane: one line a quantity, computed apart from their printing."""

import math
from dataclasses import dataclass

from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import KEY_POINTS, Quantity
from viewer.site_data.site_layout import SiteLayout


@dataclass(frozen=True)
class KeyPointLine:
    """One quantity of one trace in its own unit; None where unknown.

    `difference` is measured over predicted less one, `rated` the datasheet's value for the
    whole string at STC.
    """

    quantity: Quantity
    measured: float | None
    predicted: float | None
    difference: float | None
    translated: float | None
    rated: float | None


def key_point_lines(
    result: TraceResult, layout: SiteLayout | None = None
) -> tuple[KeyPointLine, ...]:
    """The six lines of one trace."""
    rated = rated_values(result, layout)
    return tuple(
        KeyPointLine(
            one,
            _known(result.measured, one.name),
            _known(result.predicted, one.name),
            _difference(_known(result.measured, one.name), _known(result.predicted, one.name)),
            _known(result.translated, one.name),
            rated.get(one.name),
        )
        for one in KEY_POINTS
    )


def rated_values(result: TraceResult, layout: SiteLayout | None) -> dict[str, float]:
    """The datasheet's key points for the string: volts times modules, amperes times strings."""
    string = layout.string(result.trace.combiner, result.trace.string) if layout else None
    sheet = layout.modules.get(string.module) if layout and string else None
    if string is None or sheet is None:
        return {}
    n, p = string.modules_in_series, string.strings_in_parallel
    return {
        "i_sc": sheet.i_sc * p,
        "v_oc": sheet.v_oc * n,
        "i_mp": sheet.i_mp * p,
        "v_mp": sheet.v_mp * n,
        "p_mp": sheet.p_mp * n * p,
        "fill_factor": sheet.p_mp / (sheet.v_oc * sheet.i_sc),
    }


def _known(points: object, name: str) -> float | None:
    value = getattr(points, name, None)
    return float(value) if value is not None and math.isfinite(value) else None


def _difference(measured: float | None, predicted: float | None) -> float | None:
    if measured is None or predicted is None or predicted == 0.0:
        return None
    return measured / predicted - 1.0


def spoken_numbers(result: TraceResult | None) -> str:
    """The current curve in a sentence, for who cannot see it: key points with units."""
    if result is None:
        return ""
    parts = []
    for line in key_point_lines(result):
        one = line.quantity
        said = f"{one.label} {one.text(line.measured)} {one.unit}".rstrip()
        if line.predicted is not None:
            said += f", predicted {one.text(line.predicted)}"
        parts.append(said)
    name = result.trace.string or result.trace.source
    return f"{name}: {'; '.join(parts)}"
