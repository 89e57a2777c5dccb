"""What the comparison makes of a site's cables, rules and thresholds."""

from dataclasses import replace
from datetime import datetime

import pytest

from viewer.analysis.comparison import AnalysisInputs, compare_groups
from viewer.analysis.conditions.condition_sources import ConditionRules
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.single_diode import curve
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

MODULE = Datasheet("M", "mono-Si", 11.0, 49.5, 10.3, 41.5, 0.05, -0.28, -0.36, 72)
STRING = StringLayout("1", "M", 20)
OHM = 2 * 150.0 * 5.09e-3 * (1 + 5.0 / 254.5)
"""150 m one way of 4 mm² copper (5.09 ohm/km at 20 °C, IEC 60228), at 25 °C."""


def compared(
    string: StringLayout, inputs: AnalysisInputs | None = None, ohm: float = 0.0
) -> TraceResult:
    layout = SiteLayout("Site", {"M": MODULE}, (Combiner("C", (string,)),))
    models = site_models(layout.modules)
    device = models.models["M"].operating(820.0, 48.0).in_series(20).with_extra_series(ohm)
    read = MeasuredConditions(poa_global=820.0, temperature_cell=48.0)
    trace = Trace("t", *curve(device, 150), "C", "1", datetime(2024, 6, 1, 12), read)
    (result,) = compare_groups([(trace,)], layout, models, inputs)
    assert isinstance(result, TraceResult)
    return result


def test_a_described_cable_is_no_loss_of_the_string() -> None:
    string = replace(STRING, cable_length=150.0, cable_cross_section=4.0)
    assert compared(string, ohm=OHM).power_ratio == pytest.approx(1.0, abs=1e-3)
    assert compared(STRING, ohm=OHM).power_ratio < 0.985


def test_rules_and_thresholds_reach_the_checks() -> None:
    inputs = AnalysisInputs(
        rules=ConditionRules(temperature_order=("voc",)),
        thresholds=ConditionThresholds(irradiance_for_power=900.0),
    )
    found = compared(STRING, inputs).conditions
    assert found.temperature_source == "voc"
    assert [c.passed for c in found.checks if c.check == "irradiance for power"] == [False]
