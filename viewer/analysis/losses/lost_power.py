"""Power that a string lacks at standard conditions: one number for lists, reports and costs."""

from viewer.analysis.results.trace_result import TraceResult


def lost_at_standard(result: TraceResult) -> float | None:
    """What is missing at 1000 W/m² and 25 °C [W]: the shortfall over the power ratio.

    Negative where the string gives more than predicted; None where nothing is predicted or
    translated.
    """
    if result.translated is None or not result.power_ratio:
        return None
    return result.translated.p_mp * (1 / result.power_ratio - 1)


def lost_at_standard_uncertainty(result: TraceResult) -> float | None:
    """Expanded uncertainty (k = 2) of `lost_at_standard` [W] by that of the power ratio.

    None where one of both is not known.
    """
    if result.translated is None or result.power_ratio_uncertainty is None:
        return None
    if not result.power_ratio:
        return None
    return result.translated.p_mp / result.power_ratio**2 * result.power_ratio_uncertainty
