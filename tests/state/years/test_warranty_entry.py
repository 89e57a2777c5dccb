"""Warranty terms as typed, and the rows of the checks."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tests.invented_results import InventedOpener, invented_layout, invented_visits
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.session import Session
from viewer.state.years.warranty_entry import (
    EnteredTerms,
    as_entered,
    probability_words,
    read_terms,
    terms_in_force,
    warranty_cells,
    warranty_findings,
    warranty_sentences,
)

LINEAR = EnteredTerms(2.0, 0.5, 25.0, "", date(2024, 1, 1))


def test_linear_terms_and_steps_are_read():
    assert read_terms(LINEAR) == WarrantyTerms(2.0, 0.5, 25.0, start=date(2024, 1, 1))
    steps = read_terms(EnteredTerms(steps="10:90, 25:80", rated_power=300.0))
    assert steps.steps == ((10.0, 90.0), (25.0, 80.0))
    assert steps.rated_power == 300.0


@pytest.mark.parametrize(
    ("steps", "words"),
    [("10-90", "write AGE:PERCENT"), ("25:80, 10:90", "ages must rise"), ("x:1", "AGE:PERCENT")],
)
def test_wrong_steps_are_told_in_a_sentence(steps, words):
    with pytest.raises(ValueError, match=words):
        read_terms(EnteredTerms(steps=steps))


def test_known_terms_come_back_as_they_would_be_typed():
    for typed in (LINEAR, EnteredTerms(0.0, 0.0, 25.0, "10:90, 25:80")):
        assert as_entered(read_terms(typed)) == typed
    assert as_entered(None) == EnteredTerms()


def test_entered_terms_go_before_those_of_the_layout():
    layout = invented_layout()
    own = WarrantyTerms(1.0, 0.4)
    sheet = replace(layout.modules["INV"], warranty=own)
    layout = replace(layout, modules={"INV": sheet})
    assert terms_in_force(layout, {}, "INV") == own
    assert terms_in_force(layout, {"INV": read_terms(LINEAR)}, "INV") == read_terms(LINEAR)
    assert terms_in_force(None, {}, "INV") is None


def test_cells_carry_shape_word_and_interval_and_the_rule_is_named():
    session = Session(InventedOpener(invented_visits()))
    session.open(Path("/invented/visit"))
    session.years.ensure()
    none = warranty_findings(session.years.found, {})
    assert none.checks == ()
    assert "no warranty terms" in warranty_sentences(none)[0]
    found = warranty_findings(session.years.found, {"INV": read_terms(LINEAR)})
    one = next(check for check in found.checks if check.place == ("C1", "S2"))
    cells = warranty_cells(one)
    assert cells[0] == "C1 S2"
    shapes = {"below": "▼", "inconclusive": "○", "above": "▲"}
    assert cells[1] == f"{shapes[one.decision]} {one.decision}"
    assert " ± " in cells[2]
    assert float(cells[3]) == round(20 * 9.0 * 38.0 * (98 - 0.5 * (one.age - 1)) / 100)
    assert any("ILAC-G8" in text for text in warranty_sentences(found))


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.998, "> 99 %"), (1.0, "> 99 %"), (0.97, "97 %"), (0.41, "41 %"), (0.003, "< 1 %")],
)
def test_no_probability_is_printed_as_certain(share, words):
    assert probability_words(share) == words
