"""What causes are called, and what their next checks say and warn of."""

import re

import pytest

from tests.analysis.causes.made_readings import (
    reading,
)
from viewer.analysis.causes.cause_words import (
    EARTH_FAULT,
    NEXT_CHECKS,
    ON_GLASS,
    OPENED,
    PARTED,
    cause_name,
)
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.results.trace_result import CAUSES


def test_every_cause_has_words_and_a_check() -> None:
    assert len({cause_name(cause) for cause in CAUSES}) == len(CAUSES)
    assert all("_" not in cause_name(cause) for cause in CAUSES)
    assert set(NEXT_CHECKS) == set(CAUSES)


def test_a_cause_of_a_later_version_reads_as_it_is_stored() -> None:
    assert cause_name("arc_fault") == "arc_fault"


def test_no_fault_is_no_word_on_what_a_curve_does_not_show() -> None:
    assert "does not show insulation" in rank_causes(reading())[0].next_check
    assert not any("nothing further is needed" in text.lower() for text in NEXT_CHECKS.values())


@pytest.mark.parametrize(
    ("work", "caution", "causes"),
    [
        (
            "alone|one by one|singly|of each|sample modules",
            PARTED,
            {"cell_fault", "bypass_short", "module_missing", "shunt", "module_mismatch"}
            | {"degradation"},
        ),
        ("boxes|fuses", OPENED, {"series_resistance"}),
        ("[Cc]lean(ed)? (the|two|and)|on the glass", ON_GLASS, {"soiling", "shading"}),
        ("insulation resistance", EARTH_FAULT, {"shunt"}),
    ],
)
def test_work_on_live_parts_and_on_glass_carries_its_caution(
    work: str, caution: str, causes: set[str]
) -> None:
    """Found by the work that the words speak of, so that a new check cannot leave it out."""
    asked = {cause for cause, text in NEXT_CHECKS.items() if re.search(work, text)}
    assert causes <= asked
    assert [cause for cause in asked if caution not in NEXT_CHECKS[cause]] == []


def test_cautions_name_who_may_do_it() -> None:
    for caution in (PARTED, OPENED):
        assert "qualified person" in caution
        assert "local code" in caution
    assert "never parted under load" in PARTED
