"""A string traced at several conditions is translated by its own factors, by any procedure."""

from datetime import datetime, timedelta

import numpy as np
import pvlib
import pytest

from viewer.analysis.comparison import AnalysisInputs, compare_groups
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.prediction.standard_conditions import SINGLE_CURVE_PROCEDURES
from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

MODULE = Datasheet("M", "mono-Si", 11.0, 49.5, 10.3, 41.5, 0.05, -0.28, -0.36, 72)
LAYOUT = SiteLayout("Site", {"M": MODULE}, (Combiner("C", (StringLayout("1", "M", 20),)),))
CONNECTOR = 6.0
"""Ohm in series that the datasheet does not know."""
CONDITIONS = ((500.0, 25.0), (700.0, 35.0), (850.0, 45.0), (1000.0, 55.0))


def _trace(poa: float, cell: float, number: int) -> Trace:
    """A curve by pvlib's Bishop form, with the connector in series."""
    one = site_models(LAYOUT.modules).models["M"].operating(poa, cell).in_series(20)
    five = [float(value) for value in one.as_tuple()]
    five[2] += CONNECTOR
    v_oc = pvlib.singlediode.bishop88_v_from_i(0.0, *five)
    current, voltage, _ = pvlib.singlediode.bishop88(np.linspace(0.0, v_oc, 200), *five)
    keep = voltage >= 0
    when = datetime(2025, 6, 1, 10) + timedelta(minutes=30 * number)
    read = MeasuredConditions(poa_global=poa, temperature_cell=cell)
    return Trace(f"t{number}", voltage[keep], current[keep], "C", "1", when, read)


def _results(count: int, inputs: AnalysisInputs | None = None) -> list[TraceResult]:
    traces = tuple(_trace(*CONDITIONS[k], k) for k in range(count))
    found = compare_groups([traces], LAYOUT, site_models(LAYOUT.modules), inputs)
    return [one for one in found if isinstance(one, TraceResult)]


def _powers(results: list[TraceResult]) -> list[float]:
    return [one.translated.p_mp for one in results if one.translated]


def test_enough_curves_show_the_strings_own_resistance() -> None:
    own = _results(4)
    assert all("own 4 curves" in one.translation for one in own)
    alone = [_results_of_one(k) for k in range(4)]
    assert all("datasheet's single-diode model" in one.translation for one in alone)
    spread = np.ptp(_powers(own)) / np.mean(_powers(own))
    assert spread < 0.5 * np.ptp(_powers(alone)) / np.mean(_powers(alone))


def _results_of_one(number: int) -> TraceResult:
    trace = _trace(*CONDITIONS[number], number)
    (one,) = compare_groups([(trace,)], LAYOUT, site_models(LAYOUT.modules))
    assert isinstance(one, TraceResult)
    return one


def test_two_curves_are_not_enough() -> None:
    assert all("datasheet's single-diode model" in one.translation for one in _results(2))


@pytest.mark.parametrize("procedure", SINGLE_CURVE_PROCEDURES)
def test_the_chosen_procedure_is_named(procedure: int) -> None:
    results = _results(1, AnalysisInputs(procedure=procedure))
    assert f"procedure {procedure} " in results[0].translation
