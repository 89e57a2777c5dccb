"""One visit against another in the window's terms."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.analysis.results.trace_result import Check
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.state.session import Arrival, Session
from viewer.state.strings.deviation_grid import deviation_grid
from viewer.state.visit_comparison import (
    change_of,
    compared_visits,
    overlay_both,
    results_by_string,
    sorted_changes,
    string_changes,
    summary,
    verdict,
)

SHORT = ("C1", "S2")
P_MP = KEY_POINT_NAMES.index("p_mp")


@pytest.fixture
def session():
    opened = Session(InventedOpener(invented_visits()))
    opened.open(Path("/invented/visit"))
    opened.years.ensure()
    return opened


@pytest.fixture
def changes(session):
    return string_changes(session.years.found, compared_visits(session), False)


def test_the_shown_visit_is_compared_with_the_baseline(session):
    assert compared_visits(session).text == "2025 against 2024"
    session.choices.visit.value = "2024"
    assert compared_visits(session).text == "2025 against 2024"
    session.years.baseline.value = "2025"
    assert compared_visits(session).text == "2024 against 2025"


def test_the_change_in_percent_is_that_of_the_values_at_stc(session, changes):
    change = change_of(changes, SHORT).change("p_mp")
    then, now = session.result("2024/C1/S2.csv"), session.result("2025/C1/S2.csv")
    assert change.percent == pytest.approx(100 * (now.translated.p_mp / then.translated.p_mp - 1))


def test_words_tell_what_is_beyond_the_uncertainty(changes):
    assert verdict(change_of(changes, SHORT)).startswith("Pmp lower")
    assert verdict(change_of(changes, ("C1", "S1"))) == "no change shown"


def test_the_summary_counts_the_strings(session, changes):
    text = summary(changes, compared_visits(session))
    assert text.startswith("8 strings traced on both visits")
    assert "lower beyond the uncertainty in 1, higher in 0, no change shown in 7" in text


def test_same_instruments_narrow_the_uncertainty(session, changes):
    narrow = string_changes(session.years.found, compared_visits(session), True)
    for one, other in zip(changes, narrow, strict=True):
        assert other.change("p_mp").expanded < one.change("p_mp").expanded
        assert other.change("p_mp").percent == one.change("p_mp").percent


def test_sorting_by_a_key_point_puts_the_worst_first(changes):
    assert sorted_changes(changes, "p_mp", False)[0].place == SHORT
    assert sorted_changes(changes, "place", False)[0].place == ("C1", "S1")
    assert sorted_changes(changes, "place", True)[0].place == ("C2", "S4")


def test_overlaying_selects_both_traces_at_stc(session, changes):
    overlay_both(session, change_of(changes, SHORT))
    assert session.selection.ids == ("2024/C1/S2.csv", "2025/C1/S2.csv")
    assert session.selection.current == "2025/C1/S2.csv"
    assert session.choices.form.value == "stc"


def test_one_visit_alone_is_told_in_a_sentence():
    opened = Session(InventedOpener(invented_visits()[:8]))
    opened.open(Path("/invented/visit"))
    opened.years.ensure()
    compared = compared_visits(opened)
    assert string_changes(opened.years.found, compared, False) == []
    assert summary([], compared) == "Two visits with usable traces are needed."


def test_the_heat_grid_against_a_visit(session):
    then = results_by_string(session, "C1", "2024")
    grid = deviation_grid(session.results_of("C1"), "C1", session.layout, "visit", then, "2024")
    before, now = then["S2"].translated.p_mp, session.result("2025/C1/S2.csv").translated.p_mp
    assert grid.deviation[1, P_MP] == pytest.approx(100 * (now / before - 1))
    assert grid.basis == "at STC against 2024"
    alone = deviation_grid(session.results_of("C1"), "C1", session.layout, "visit")
    assert np.isnan(alone.deviation).all()
    assert "no other visit" in alone.basis


def test_of_two_traces_of_a_string_that_in_good_sun_is_compared_with(session):
    good = session.result("2024/C1/S2.csv")
    late = replace(
        good.trace,
        source="2024/C1/S2_late.csv",
        measured_at=good.trace.measured_at + timedelta(hours=5),
    )
    dim = Check("irradiance for power", False, "180 W/m², at least 400 W/m²")
    used = replace(good.conditions, checks=(dim,))
    session.take([Arrival(results=(replace(good, trace=late, conditions=used),))])
    assert results_by_string(session, "C1", "2024")["S2"] == good
