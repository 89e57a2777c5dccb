from pathlib import Path

import pytest

from viewer.analysis.results.trace_result import CAUSES
from viewer.physics.cell_string.scenario import FromKnob
from viewer.site_data.scenario_file import (
    ORDER,
    ScenarioError,
    read_scenario,
    scenario_named,
    scenarios,
)

GOOD = """
name = "A fault"
cause = "shading"
summary = "What it is."
[severity]
label = "How bad"
unit = "%"
lowest = 0
highest = 90
start = 50
[[effect]]
kind = "light"
percent = { severity = 0.5 }
groups = 3
"""


def read(tmp_path: Path, text: str):
    path = tmp_path / "fault.toml"
    path.write_text(text, encoding="utf-8")
    return read_scenario(path)


def test_what_bypassed_groups_leave_in_a_curve_is_called_a_step():
    """One word for it: the trade's, as the findings and the help have it."""
    for scenario in scenarios().values():
        assert "stair" not in str(scenario).lower(), scenario.name


def test_all_scenarios_that_come_with_the_program_are_there_in_order():
    assert list(scenarios()) == list(ORDER)
    for scenario in scenarios().values():
        assert scenario.cause in CAUSES
        assert scenario.summary.endswith(".")
        assert scenario.reasons
        if scenario.key != "healthy":
            apart = scenario.telling_apart
            assert apart.moves_with_sun
            assert apart.vanishes_when_cleaned
            assert apart.infrared
            assert apart.module_retest


def test_a_number_comes_from_a_knob_by_a_factor(tmp_path):
    scenario = read(tmp_path, GOOD)
    assert scenario.key == "fault"
    assert scenario.effects[0].values == {"percent": FromKnob("severity", 0.5), "groups": 3.0}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('kind = "light"', 'kind = "lihgt"', r"fault.toml, line 12: 'lihgt' is no effect"),
        ("percent = { severity = 0.5 }", "", r"line 11: effect 'light' needs a line percent"),
        ("groups = 3", "group = 3", r"line 14: 'group' is not a key of effect 1; did you mean"),
        ("groups = 3", 'groups = "extent"', r"line 14: groups is 'extent'; write a number"),
        ("groups = 3", 'at = "top"', r"line 14: at is 'top'; write middle"),
        ("start = 50", "start = 95", r"line 10: start of severity lies between"),
        ("lowest = 0", 'lowest = "none"', r"line 8: lowest of severity is the text 'none'"),
        ("start = 50", "start = 50\nlogarithmic = true", r"line 8: lowest of severity is above 0"),
        ('summary = "What it is."', "", r"has no summary"),
        ("[[effect]]", "[effect]", r"double brackets"),
        ("[severity]", "[severity", r"not valid TOML"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(tmp_path, old, new, said):
    with pytest.raises(ScenarioError, match=said):
        read(tmp_path, GOOD.replace(old, new))


def test_bytes_that_are_no_text_are_refused(tmp_path):
    path = tmp_path / "x.toml"
    path.write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(ScenarioError, match="it is no UTF-8 text"):
        read_scenario(path)


def test_an_unknown_scenario_is_answered_with_the_known_ones():
    with pytest.raises(ScenarioError, match="no scenario fog; known are healthy"):
        scenario_named("fog")
