from dataclasses import replace

import pytest

from tests.invented_results import invented_result
from viewer.analysis.conditions.reading_checks import REAR_CHECK
from viewer.analysis.results.trace_result import KINDS, Check, Signature
from viewer.state.program.settings import Settings
from viewer.state.strings.signature_words import KIND_HEADINGS
from viewer.state.strings.standing import standing
from viewer.state.strings.string_rows import RowFilter, arranged, natural, string_row, suspects


def rows(*losses: float):
    return [
        string_row(invented_result("C1", f"S{n}", loss=loss), Settings())
        for n, loss in enumerate(losses, 1)
    ]


def test_numbers_in_names_sort_as_numbers():
    names = ["S10", "S2", "s1", "A", "3"]
    assert sorted(names, key=natural) == ["3", "A", "s1", "S2", "S10"]


@pytest.mark.parametrize("name", ["²", "①", "Strang ²/3"])
def test_a_name_may_hold_any_sign_that_looks_like_a_digit(name):
    order = sorted(["S2", name, "S1"], key=natural)
    assert order.index("S1") < order.index("S2")


def test_sorting_by_power_ratio_puts_the_unknown_last():
    unknown = string_row(invented_result("C1", "S9", with_prediction=False), Settings())
    order = arranged([unknown, *rows(0.0, 0.2, 0.1)], RowFilter(), "power_ratio")
    assert [row.string for row in order] == ["S2", "S3", "S1", "S9"]


def test_all_words_of_the_filter_must_occur():
    both = rows(0.0, 0.2)
    assert len(arranged(both, RowFilter(words="c1 short"), "string")) == 1
    assert len(arranged(both, RowFilter(words="C1"), "string")) == 2
    assert arranged(both, RowFilter(words="c1 nowhere"), "string") == ()


def test_filters_by_combiner_level_and_visit():
    both = rows(0.0, 0.2)
    assert arranged(both, RowFilter(combiner="C2"), "string") == ()
    assert [r.string for r in arranged(both, RowFilter(level="short"), "string")] == ["S2"]
    only = frozenset({both[0].trace_id})
    assert [r.string for r in arranged(both, RowFilter(trace_ids=only), "string")] == ["S1"]


def test_standing_by_power_ratio_and_conditions():
    settings = Settings()
    levels = [standing(invented_result(loss=loss), settings).level for loss in (0.0, 0.04, 0.2)]
    assert levels == ["expected", "watch", "short"]
    assert standing(invented_result(loss=0.2, failed_check=True), settings).level == "unsure"
    for loss, level in ((0.2, "short"), (0.04, "unsure"), (0.0, "unsure")):
        dark = invented_result(loss=loss)
        rear = (*dark.conditions.checks, Check(REAR_CHECK, False, "not recorded"))
        dark = replace(dark, conditions=replace(dark.conditions, checks=rear))
        assert standing(dark, settings).level == level
    shape = Signature("step", 0.1, "A", "A step at half the current.")
    assert standing(replace(invented_result(), signatures=(shape,)), settings).level == "watch"
    assert standing(invented_result(with_prediction=False), settings).level == "unknown"


@pytest.mark.parametrize("kind", KINDS)
def test_a_shape_is_called_as_in_the_heat_grid_short_enough_for_the_list(kind):
    shaped = replace(invented_result(), signatures=(Signature(kind, 0.1, "of i_sc", "Words."),))
    words = standing(shaped, Settings()).words
    assert words.lower() == f"watch, {KIND_HEADINGS[kind].lower()}"
    assert len(words) <= len("check conditions")


def test_suspects_come_the_worst_first_and_healthy_ones_not_at_all():
    assert suspects(rows(0.0, 0.04, 0.3, 0.1)) == tuple(f"2024/C1/S{n}.csv" for n in (3, 4, 2))


def test_a_failed_check_does_not_put_a_bad_string_behind_those_to_be_watched():
    watched = string_row(invented_result("C1", "S1", loss=0.04), Settings())
    dirty = string_row(invented_result("C1", "S2", loss=0.13, failed_check=True), Settings())
    short = string_row(invented_result("C1", "S3", loss=0.08), Settings())
    doubted = string_row(invented_result("C1", "S4", failed_check=True), Settings())
    levels = [one.standing.level for one in (watched, dirty, short, doubted)]
    assert levels == ["watch", "unsure", "short", "unsure"]
    order = suspects([watched, dirty, short, doubted])
    assert order == tuple(f"2024/C1/S{n}.csv" for n in (2, 3, 1, 4))
