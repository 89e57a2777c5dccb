"""A sweep whose shape cannot be read says why, keeps its key points and leaves the others alone."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.analysis.causes.made_visits import MODULES, READ, SHEET, analysed, traced
from viewer.analysis.batch import compare_or_say_why
from viewer.analysis.causes import trace_reading
from viewer.analysis.causes.trace_reading import DEFEATED, NO_CURRENT
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.prediction.preparation import prepare
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.signatures.signature_reading import InputUncertainty
from viewer.analysis.signatures.signatures import why_unreadable
from viewer.physics.single_diode import DiodeParameters
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.result_table import finding_text
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.state.program.settings import Settings
from viewer.state.strings.standing import standing

SOUND = [traced(f"S{k}", 2.0 * k, current=0.9) for k in range(6)]


def _odd(voltage: np.ndarray, current: np.ndarray, read: MeasuredConditions = READ) -> Trace:
    return replace(traced("odd", 30.0), voltage=voltage, current=current, conditions=read)


def _short(points: int) -> Trace:
    whole = traced("odd", 30.0)
    kept = np.linspace(0, whole.voltage.size - 1, points).astype(int)
    return replace(whole, voltage=whole.voltage[kept], current=whole.current[kept])


DEAD = {
    "zero": np.zeros(100),
    "noise": 0.002 * np.random.default_rng(0).standard_normal(100),
    "leakage": np.linspace(0.01, 0.0, 100),
    "one stray reading": np.where(np.arange(100) == 40, 5.0, 0.0),
}


def test_a_short_sweep_takes_the_neighbours_from_nobody() -> None:
    *others, odd = analysed(*SOUND, _short(7))
    among = [one.candidate_causes for one in analysed(*SOUND)]
    assert [one.candidate_causes for one in others] == among
    assert among[0][0].cause == "irradiance_input"
    assert odd.measured.p_mp > 1000.0
    assert odd.candidate_causes == odd.signatures == ()
    assert odd.missing == ("A sweep of 7 points is too short to read its shape; 8 are the least.",)
    assert finding_text(odd) == odd.missing[0]


@pytest.mark.parametrize("kind", DEAD)
def test_a_string_without_current_is_a_finding_that_costs_all(kind: str) -> None:
    """Its own power need not be known from its points for that."""
    (dead,) = analysed(_odd(np.linspace(0.0, 900.0, 100), DEAD[kind]))
    assert dead.missing == (NO_CURRENT,)
    assert dead.predicted is not None
    (low,), (cause,) = dead.signatures, dead.candidate_causes
    assert (low.kind, low.size) == ("low_current", 1.0)
    assert low.loss == pytest.approx(dead.predicted.p_mp, abs=0.1)
    assert cause.cause == "series_resistance"
    assert "open connector, fuse or switch" in cause.evidence
    assert dead.power_ratio == pytest.approx(0.0, abs=0.01)
    assert dead.power_ratio_uncertainty is not None
    assert standing(dead, Settings()).level in ("short", "unsure")


@pytest.mark.parametrize("kind", DEAD)
def test_a_string_without_current_is_told_in_light_that_was_not_read(kind: str) -> None:
    voltage = np.linspace(0.0, 900.0, 100)
    (dead,) = analysed(_odd(voltage, DEAD[kind], MeasuredConditions()))
    assert dead.missing[-1] == NO_CURRENT
    assert dead.candidate_causes == dead.signatures == ()
    assert dead.power_ratio is None


def test_a_string_in_deep_shade_is_not_without_current() -> None:
    (shaded,) = analysed(traced("S1", current=0.05))
    assert NO_CURRENT not in shaded.missing
    assert shaded.signatures


def test_what_defeats_the_mathematics_takes_nothing_from_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    read = trace_reading.read_signatures
    odd = traced("odd", 30.0)

    def failing(given: list) -> list:
        if any(np.array_equal(one.voltage, odd.voltage) for one in given):
            raise ZeroDivisionError
        return read(given)

    monkeypatch.setattr(trace_reading, "read_signatures", failing)
    *others, failed = analysed(*SOUND, odd)
    assert [one.candidate_causes[0].cause for one in others] == ["irradiance_input"] * len(SOUND)
    assert failed.missing == (DEFEATED,)
    assert math.isfinite(failed.measured.p_mp)


@pytest.mark.parametrize("name", ["resistance_shunt", "nNsVth", "photocurrent"])
@pytest.mark.parametrize("value", [math.nan, -1.0, 0.0])
def test_a_prediction_that_is_no_curve_is_nothing_to_read_against(name: str, value: float) -> None:
    sound = DiodeParameters.of(9.0, 1e-8, 5.0, 9000.0, 40.0)
    assert why_unreadable(100, sound) == ""
    assert "no finite parameters" in why_unreadable(100, replace(sound, **{name: np.array(value)}))


def test_what_still_fails_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*_: object) -> None:
        raise ValueError("There is an end.")

    monkeypatch.setattr("viewer.analysis.batch.compare_groups", failing)
    layout = SiteLayout("Site", {"M": SHEET}, (Combiner("C", (StringLayout("odd", "M", 20),)),))
    (said,) = compare_or_say_why([(traced("odd"),)], layout, site_models(layout.modules))
    assert not isinstance(said, TraceResult)
    assert said.problem.endswith("could not be analysed: There is an end.")


UNREAD = MeasuredConditions()
LAYOUT = SiteLayout("Site", {"M": SHEET}, (Combiner("C", (StringLayout("S1", "M", MODULES),)),))
NEVER_LISTED = SiteLayout("Site", {}, ())


def test_what_a_lone_curve_tells_of_itself_is_said() -> None:
    sound = traced("S1")
    rising = sound.current * (0.9 + 0.1 * sound.voltage / sound.voltage[-1])
    (grown,) = analysed(_odd(sound.voltage, rising, UNREAD))
    assert grown.missing[-1].startswith("The current rises with voltage")
    (short,) = analysed(replace(_short(7), conditions=UNREAD))
    assert short.missing[-1].startswith("A sweep of 7 points is too short to read its shape")


def test_a_number_of_groups_that_was_guessed_is_said_where_it_counts() -> None:
    models = site_models({})
    for limited, said in ((0.4, True), (None, False)):
        trace = traced("S1", limited=limited, read=UNREAD)
        (lone,) = compare_or_say_why([(trace,)], NEVER_LISTED, models)
        assert isinstance(lone, TraceResult)
        assert any("bypass groups is not known" in one for one in lone.missing) is said
        assert bool(lone.signatures) is said


def _current_told(trace: Trace, inputs: InputUncertainties) -> float:
    """Expanded uncertainty that a loss of current is told with; 0 where none is told."""
    (result,) = analysed(trace, inputs=AnalysisInputs(inputs))
    told = [one for one in result.signatures if one.kind == "low_current"]
    return float(told[0].details["uncertainty"]) if told else 0.0


def test_findings_are_told_with_the_uncertainty_that_people_enter() -> None:
    dirty = traced("S1", current=0.93)
    assert _current_told(dirty, InputUncertainties()) == pytest.approx(0.0371, abs=0.0003)
    assert _current_told(dirty, InputUncertainties(irradiance=0.05)) == 0.0
    assert _current_told(dirty, InputUncertainties(irradiance=0.005)) < 0.030
    half = traced("S1", current=0.5)
    assert _current_told(half, InputUncertainties(irradiance=0.05)) == pytest.approx(0.1, abs=0.006)


def test_the_usual_uncertainties_are_those_the_reading_was_tuned_with() -> None:
    usual = InputUncertainty()
    made: list[InputUncertainty] = []
    for read in (READ, MeasuredConditions(900.0, temperature_air=22.0, wind_speed=1.0)):
        (one,), _ = prepare([traced("S1", read=read)], LAYOUT, site_models({"M": SHEET}))
        made.append(trace_reading._uncertainty(one, SHEET, InputUncertainties()))
    assert made[0].irradiance == made[1].irradiance == usual.irradiance
    assert [known.temperature for known in made] == [usual.temperature, 2.5]


def test_a_temperature_that_the_curve_gave_is_not_held_against_it() -> None:
    read = MeasuredConditions(poa_global=900.0)
    (one,), _ = prepare([traced("S1", read=read)], LAYOUT, site_models({"M": SHEET}))
    unsure = InputUncertainties(temperature_by_voc=9.0)
    known = trace_reading._uncertainty(one, SHEET, unsure)
    assert known.temperature == InputUncertainty.temperature
