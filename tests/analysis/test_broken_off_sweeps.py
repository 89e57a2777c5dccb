"""A sweep whose end was lost says what it measured and nothing about what was not swept."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from tests.analysis.signatures.strings_of_groups import sweep
from tests.analysis.test_comparison_of_field_conditions import MODULE, STRING
from viewer.analysis.causes.broken_off import NOTHING_TOLD, STEPS_ALONE
from viewer.analysis.comparison import compare_groups
from viewer.analysis.losses.mismatch import curves_of
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.single_diode import curve
from viewer.reports.result_table import finding_text
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout
from viewer.state.program.settings import Settings
from viewer.state.strings.standing import standing

POINTS = 120


def traces() -> list[Trace]:
    """The same sound string, its sweep broken off after ever more points; each on its own day."""
    models = site_models({"M": MODULE}).models
    voltage, current = curve(models["M"].operating(820.0, 48.0).in_series(20), POINTS)
    noise = np.random.default_rng(5).normal(0.0, 0.004, POINTS)
    read = MeasuredConditions(poa_global=820.0, temperature_cell=48.0)
    return [
        Trace(f"{k}", voltage[:k], (current + noise)[:k], "C", "1", datetime(2024, 6, 1, 12), read)
        for k in range(8, POINTS + 1, 2)
    ]


@pytest.fixture(scope="module")
def results() -> list[TraceResult]:
    layout = SiteLayout("Site", {"M": MODULE}, (Combiner("C", (STRING,)),))
    given = traces()
    found = compare_groups([(one,) for one in given], layout, site_models(layout.modules))
    return [one for one in found if isinstance(one, TraceResult)]


def test_nothing_is_found_in_what_was_not_swept(results: list[TraceResult]) -> None:
    broken = [one for one in results if not np.isfinite(one.measured.v_oc)]
    assert len(broken) > 20
    for one in broken:
        assert one.signatures == ()
        assert one.candidate_causes == ()
        assert one.missing[-1] == NOTHING_TOLD
        assert finding_text(one) == NOTHING_TOLD


def test_a_power_ratio_is_that_of_a_maximum_that_was_swept(results: list[TraceResult]) -> None:
    known = [one for one in results if one.power_ratio is not None]
    assert len(known) > 5
    for one in known:
        assert one.power_ratio == pytest.approx(1.0, abs=0.01)
    unknown = [one for one in results if one.power_ratio is None]
    assert len(unknown) > 20
    assert {standing(one, Settings()).level for one in unknown} == {"unknown"}
    assert all(one.power_ratio_uncertainty is None for one in unknown)


@pytest.mark.parametrize(
    ("volts", "amperes", "said"),
    [(1.0, 1000.0, "Isc is 1e+03 times"), (1000.0, 1.0, "Voc is 1e+03 times")],
)
def test_a_column_in_another_unit_is_no_finding(volts: float, amperes: float, said: str) -> None:
    sound = traces()[-1]
    layout = SiteLayout("Site", {"M": MODULE}, (Combiner("C", (STRING,)),))
    odd = replace(sound, voltage=sound.voltage * volts, current=sound.current * amperes)
    _is_no_finding(odd, layout, said)


@pytest.mark.parametrize("modules", [1, 2, 20])
@pytest.mark.parametrize("irradiance", [1000.0, 250.0, None])
def test_exchanged_columns_are_told_by_the_datasheet(
    modules: int, irradiance: float | None
) -> None:
    """Of one module Isc is then no more than four times what is predicted."""
    model = site_models({"M": MODULE}).models["M"]
    swept = model.operating(irradiance or 700.0, 30.0).in_series(modules)
    voltage, current = curve(swept, POINTS)
    layout = SiteLayout(
        "Site", {"M": MODULE}, (Combiner("C", (replace(STRING, modules_in_series=modules),)),)
    )
    read = MeasuredConditions(poa_global=irradiance, temperature_cell=30.0)
    right = Trace("1", voltage, current, "C", "1", datetime(2024, 6, 1, 12), read)
    (sound,) = compare_groups([(right,)], layout, site_models(layout.modules))
    assert "exchanged" not in finding_text(sound)
    turned = replace(right, voltage=current[::-1], current=voltage[::-1])
    _is_no_finding(turned, layout, "voltage and current look exchanged, for Isc is read as")


def test_a_string_that_is_short_of_modules_is_not_exchanged() -> None:
    """Two modules where three are listed, under a sensor that reads far too little."""
    model = site_models({"M": MODULE}).models["M"]
    voltage, current = curve(model.operating(1100.0, 45.0).in_series(2), POINTS)
    string = replace(STRING, modules_in_series=3)
    layout = SiteLayout("Site", {"M": MODULE}, (Combiner("C", (string,)),))
    read = MeasuredConditions(poa_global=500.0, temperature_cell=45.0)
    trace = Trace("1", voltage, current, "C", "1", datetime(2024, 6, 1, 12), read)
    (found,) = compare_groups([(trace,)], layout, site_models(layout.modules))
    assert "exchanged" not in finding_text(found)
    assert found.power_ratio is not None


def _is_no_finding(odd: Trace, layout: SiteLayout, said: str) -> None:
    (found,) = compare_groups([(odd,)], layout, site_models(layout.modules))
    assert isinstance(found, TraceResult)
    assert said in finding_text(found)
    assert (found.signatures, found.candidate_causes) == ((), ())
    assert found.power_ratio is None
    assert found.translated is None


def test_a_whole_sweep_is_as_expected(results: list[TraceResult]) -> None:
    assert finding_text(results[-1]) == "as expected"
    assert NOTHING_TOLD not in results[-1].missing


def test_nothing_at_standard_conditions_is_made_of_what_was_not_swept(
    results: list[TraceResult],
) -> None:
    broken = [
        one for one in results if not np.isfinite(list(one.measured.as_dict().values())).all()
    ]
    assert len(broken) >= 3
    for one in broken:
        assert one.translated is not None
        assert one.translated_curve is None
        assert np.isnan(one.translated.v_oc)
        assert np.isnan(one.translated.p_mp) == (one.power_ratio is None)
        assert np.isnan(one.uncertainty.translated.v_oc)


def test_a_broken_off_sweep_is_left_out_of_a_combiners_sum(results: list[TraceResult]) -> None:
    curves, basis = curves_of([results[-1], results[5]])
    assert len(curves) == 1
    assert "whose sweep ends too early" in basis
    assert curves_of([results[5]])[0] == []


def shaded_until(
    share_of_v_oc: float, levels: list[float], bypass_diodes: int = 3, strings: int = 1
) -> TraceResult:
    """Of a string of 20 modules whose groups carry `levels`, `strings` alike in parallel."""
    module = replace(MODULE, bypass_diodes=bypass_diodes)
    listed = replace(STRING, strings_in_parallel=strings)
    layout = SiteLayout("Site", {"M": module}, (Combiner("C", (listed,)),))
    models = site_models(layout.modules)
    device = models.models["M"].operating(820.0, 48.0).in_series(20)
    string = tuple(float(value) for value in device.as_tuple())
    voltage, current = sweep(string, levels, (0.0005, 0.0002), 1, share_of_v_oc)
    read = MeasuredConditions(poa_global=820.0, temperature_cell=48.0)
    when = datetime(2024, 6, 1, 12)
    given = Trace("shaded", voltage, strings * current, "C", "1", when, read)
    (one,) = compare_groups([(given,)], layout, models)
    assert isinstance(one, TraceResult)
    assert not np.isfinite(one.measured.v_oc)
    return one


SHADED = [1.0] * 44 + [0.6] * 8 + [0.3] * 8


@pytest.mark.parametrize(
    ("share_of_v_oc", "steps"), [(0.7, {}), (0.72, {}), (0.8, {0.6: 8}), (0.9, {0.6: 8})]
)
def test_steps_that_are_seen_whole_are_told_and_nothing_else(
    share_of_v_oc: float, steps: dict[float, int]
) -> None:
    one = shaded_until(share_of_v_oc, SHADED)
    assert one.missing[-1] == (STEPS_ALONE if steps else NOTHING_TOLD)
    assert all(signature.kind == "step" for signature in one.signatures)
    assert {round(float(s.size), 1): s.details["bypass_groups"] for s in one.signatures} == steps
    assert [cause.cause for cause in one.candidate_causes[:1]] == (["shading"] if steps else [])


def test_so_are_those_of_modules_without_bypass_diodes() -> None:
    """All of them are told as one step, of which the part that was not swept is left out."""
    one = shaded_until(0.9, [1.0] * 14 + [0.6] * 3 + [0.3] * 3, bypass_diodes=0)
    assert one.missing == (STEPS_ALONE,)
    (step,) = one.signatures
    assert step.size == pytest.approx(0.6, abs=0.01)
    assert one.candidate_causes[0].cause == "shading"


def test_of_strings_traced_as_one_it_is_said_there_too() -> None:
    one = shaded_until(0.9, SHADED, strings=2)
    assert one.missing[0] == STEPS_ALONE
    assert one.missing[1].startswith("2 strings were traced as one")
