"""Strings of a harness traced as one, and those of them that carry no current."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import soiled
from tests.analysis.causes.made_visits import analysed, traced
from viewer.analysis.causes.open_strings import open_strings, read_beside
from viewer.analysis.results.trace_result import TraceResult

AS_ONE = "strings were traced as one: numbers of groups and levels hold as if each had the fault"


def _likelihoods(result: TraceResult) -> dict[str, float]:
    return {one.cause: one.likelihood for one in result.candidate_causes}


@pytest.mark.parametrize(("strings", "carrying"), [(2, 1), (3, 2), (4, 3), (4, 2)])
def test_strings_without_current_are_told_by_their_share_of_it(strings: int, carrying: int) -> None:
    (found,) = analysed(traced("H", strings=carrying), strings_in_parallel=strings)
    (low,) = found.signatures
    assert low.kind == "low_current"
    assert f"as {strings - carrying} of {strings} strings without current would" in low.text
    assert found.missing == ()
    told = _likelihoods(found)
    assert found.candidate_causes[0].cause == "series_resistance"
    assert "fuse, connector or switch" in found.candidate_causes[0].evidence
    assert told.get("soiling", 0.0) < 0.2 > told.get("degradation", 0.0)


def test_what_the_others_have_beside_is_read_of_them() -> None:
    dark = traced("H", strings=2, limited=0.4)
    (found,) = analysed(dark, strings_in_parallel=3)
    assert [one.kind for one in found.signatures] == ["low_current", "step"]
    assert found.signatures[1].details["bypass_groups"] == 1
    assert AS_ONE in found.missing[-1]


@pytest.mark.parametrize(("current", "strings"), [(0.88, 2), (0.9, 4), (0.6, 2), (0.5, 1)])
def test_a_loss_that_is_no_strings_share_is_of_all(current: float, strings: int) -> None:
    (found,) = analysed(traced("H", current=current, strings=strings), strings_in_parallel=strings)
    assert "without current" not in found.signatures[0].text
    assert "series_resistance" not in _likelihoods(found)


def test_that_strings_were_traced_as_one_is_said_once_and_where_it_counts() -> None:
    lost = traced("H", strings=2, lost_groups=6)
    stair = traced("H", strings=2, limited=0.4)
    for trace, said in ((lost, 1), (stair, 1), (traced("H", strings=2, current=0.88), 0)):
        (found,) = analysed(trace, strings_in_parallel=2)
        assert found.signatures
        assert sum(AS_ONE in one for one in found.missing) == said
    (single,) = analysed(traced("S", limited=0.4))
    assert single.missing == ()
    (sound,) = analysed(traced("H", strings=2), strings_in_parallel=2)
    assert (sound.signatures, sound.missing) == ((), ())


def test_neighbours_see_the_current_of_all_strings() -> None:
    """Against the others its voltage is as usual, and its current is short by the open string's."""
    found = open_strings(soiled(0.5), 2)
    assert found is not None
    of_others = replace(soiled(0.06), current_scale=1.01, predicted_p_mp=2500.0)
    beside = read_beside(soiled(0.5), of_others, found)
    assert beside.current_scale == pytest.approx(0.505)
    assert beside.predicted_p_mp == 5000.0
    assert [one.size for one in beside.signatures] == [0.5]
    assert beside.losses == {"low_current": 2500.0}
