"""The uncertainty of traces: what it consists of and what makes it larger."""

from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.one_trace import resolve_conditions
from viewer.analysis.prediction.uncertainty_budget import UncertaintyCase, trace_uncertainties
from viewer.analysis.results.trace_result import Curve
from viewer.analysis.results.trace_uncertainty import TraceUncertainty
from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import curve, exact_key_points
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.physics.uncertainty.uncertainty import INPUT_NAMES, SOURCES, InputUncertainties
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

MODULE = Datasheet("M", "mono-Si", 11.0, 49.5, 10.3, 41.5, 0.05, -0.28, -0.36, 72)
STRING = StringLayout("1", "M", 20)
LAYOUT = SiteLayout("Site", {"M": MODULE}, (Combiner("C", (STRING,)),))
MODEL = fit_module(11.0, 49.5, 10.3, 41.5, 0.0055, -0.1386, -0.0036, 72, "mono-Si").model
CORRECTIONS = factors_from_model(MODEL)
NOTHING = KeyPoints(*[0.0] * 6)
USUAL = {"poa_global": 800.0, "temperature_module": 47.6}


def case(string: StringLayout = STRING, **read: float) -> UncertaintyCase:
    diode = MODEL.operating(800.0, 50.0).in_series(string.modules_in_series)
    diode = diode.in_parallel(string.strings_in_parallel)
    points = {name: float(value) for name, value in exact_key_points(diode).items()}
    swept = Curve(*curve(diode, 150))
    measured = KeyPoints(**points)
    layout = replace(LAYOUT, combiners=(Combiner("C", (string,)),))
    conditions = MeasuredConditions(**read)
    trace = Trace("t", swept.voltage, swept.current, "C", "1", None, conditions)
    used = resolve_conditions(trace, layout, measured, MODEL)
    return UncertaintyCase(measured, NOTHING, swept, conditions, used, string, MODEL, CORRECTIONS)


def of(one: UncertaintyCase, **inputs: float) -> TraceUncertainty:
    return trace_uncertainties([one], replace(InputUncertainties(), **inputs))[0]


def test_a_usual_trace_by_hand() -> None:
    """The root of the sum of squares in %: irradiance 1.25, temperature 1 K at -0.36 %/K of STC
    (0.40 %/K at 50 °C), datasheet 1, 0.5 and 1, model 0.7, voltage and current 0.25 each, and
    20 modules' spread."""
    found = of(case(**USUAL))
    spread = (0.5**2 + 0.3**2 + 0.5**2) / 20
    squares = 1.25**2 + 0.40**2 + (1 + 0.5**2 + 1) + 0.7**2 + 2 * 0.25**2 + spread
    by_hand = 2 * np.sqrt(squares)
    assert 100 * found.power_ratio == pytest.approx(by_hand, rel=0.03)


def test_shares_add_up_and_the_largest_comes_first() -> None:
    lines = of(case(**USUAL)).budget
    assert sum(line.share for line in lines) == pytest.approx(1.0)
    assert lines[0].input == "irradiance"
    assert [line.share for line in lines] == sorted((x.share for x in lines), reverse=True)
    assert {line.input for line in lines} <= {*INPUT_NAMES, "reading"}


@pytest.mark.parametrize(
    "read",
    [
        {"poa_global": 800.0, "temperature_air": 25.0, "wind_speed": 2.0},
        {"poa_global": 800.0},
        {"poa_global": 770.0, "poa_global_end": 830.0, "temperature_module": 47.6},
    ],
)
def test_poorer_readings_make_a_wider_ratio(read: dict[str, float]) -> None:
    assert of(case(**read)).power_ratio > 1.01 * of(case(**USUAL)).power_ratio


def test_more_modules_share_their_spread() -> None:
    spread = {"spread_current": 0.02, "spread_voltage": 0.01}
    one = of(case(replace(STRING, modules_in_series=1), **USUAL), **spread)
    harness = of(case(replace(STRING, strings_in_parallel=3), **USUAL), **spread)
    assert one.power_ratio > 1.1 * harness.power_ratio


def test_no_uncertainty_in_means_none_out() -> None:
    found = of(case(**USUAL), **dict.fromkeys(INPUT_NAMES, 0.0))
    assert found.power_ratio == 0.0
    assert found.predicted.p_mp == 0.0
    assert found.translated.v_oc == pytest.approx(0.0, abs=1e-9)


def test_without_conditions_the_measured_values_keep_theirs() -> None:
    found = of(case(temperature_module=47.6))
    assert found.predicted is None
    assert found.power_ratio is None
    assert found.measured.i_sc > 0.0


def test_many_at_once_equal_one_by_one() -> None:
    cases = [case(**USUAL), case(), case(replace(STRING, modules_in_series=18), **USUAL)]
    together = trace_uncertainties(cases)
    for one, result in zip(cases, together, strict=True):
        alone = trace_uncertainties([one])[0]
        assert result.measured == alone.measured
        assert result.power_ratio == pytest.approx(alone.power_ratio, nan_ok=True)
        if alone.translated is not None:
            assert result.translated.p_mp == pytest.approx(alone.translated.p_mp)


def test_every_input_states_its_source() -> None:
    assert set(SOURCES) == set(INPUT_NAMES)


def test_scatter_of_the_points_adds() -> None:
    quiet = case(**USUAL)
    noisy = replace(quiet, reading=replace(NOTHING, p_mp=0.02 * quiet.measured.p_mp))
    assert of(noisy).power_ratio == pytest.approx(
        np.hypot(of(quiet).power_ratio, 2 * 0.02), rel=0.01
    )
    assert of(noisy).budget[0].input == "reading"
