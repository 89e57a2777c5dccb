import pytest

from viewer.analysis.lesson.simulated_visit import VisitPlan
from viewer.site_data.lesson_site import lesson_site
from viewer.site_data.scenario_file import scenarios
from viewer.state.lesson.lesson_visit import free_folder, write_visit
from viewer.state.visit_opening import open_site

PLAN = VisitPlan(lesson_site().modules["LESSON-FC"], 12, beside=2)


def test_a_saved_scenario_opens_like_a_measured_visit(tmp_path):
    written = write_visit(tmp_path / "dead", scenarios()["dead_cell"], 60.0, 2.0, PLAN)
    assert len(written) == 3
    arrivals = [arrival for _, arrival in open_site(tmp_path / "dead")]
    results = [result for one in arrivals for result in one.results]
    assert len(results) == 3
    assert all("Simulated, not measured." in one.trace.note for one in results)
    worst = min(results, key=lambda one: one.power_ratio)
    assert worst.trace.string == "CB-1-S03"


def test_a_folder_that_holds_something_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("kept", encoding="utf-8")
    with pytest.raises(ValueError, match="not empty"):
        write_visit(tmp_path, scenarios()["dead_cell"], 60.0, 2.0, PLAN)
    assert [one.name for one in tmp_path.iterdir()] == ["mine.txt"]


def test_a_free_folder_is_numbered(tmp_path):
    assert free_folder(tmp_path, "shade") == tmp_path / "shade"
    (tmp_path / "shade").mkdir()
    assert free_folder(tmp_path, "shade") == tmp_path / "shade_2"
