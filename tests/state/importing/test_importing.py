"""Importing files of odd layouts: the list, the recipe, the log, the watched folder, the visit."""

import hashlib
import tomllib
from pathlib import Path

import pytest

from tests.invented_sweeps import (
    log_file,
    semicolon_file,
    unnamed_file,
    wide_file,
    workbook_file,
)
from viewer.state.importing.imported_visit import RECORD_NAME
from viewer.state.importing.importing import Importing
from viewer.state.importing.log_joining import LogChoice
from viewer.state.importing.recipe_edits import with_role, with_text
from viewer.state.program.jobs import Job, run_here
from viewer.state.session import Session
from viewer.state.visit_opening import open_site


@pytest.fixture
def session() -> Session:
    return Session(open_site)


@pytest.fixture
def importing(session: Session) -> Importing:
    return Importing(session)


def states(importing: Importing) -> dict[str, str]:
    return {row.source.rpartition("/")[2]: row.state for row in importing.files.rows}


def test_odd_files_are_listed_previewed_and_read(importing: Importing, tmp_path: Path) -> None:
    semicolon_file(tmp_path / "C1" / "S1.csv")
    wide_file(tmp_path / "C2" / "all.csv")
    workbook_file(tmp_path / "C3" / "book.xlsx")
    importing.add([tmp_path])
    assert set(states(importing).values()) == {"waiting"}
    preview = importing.recipe.preview.value
    assert preview is not None
    assert len(preview.reading.traces) == 1
    importing.read()
    assert states(importing) == {"S1.csv": "read", "all.csv": "read", "book.xlsx": "read"}
    assert len(importing.files.report.traces) == 1 + 3 + 2
    assert importing.said.value == "6 traces from 3 files."
    assert importing.work.under_way.value is None


def test_a_path_that_is_not_there_is_said(importing: Importing, tmp_path: Path) -> None:
    importing.add([tmp_path / "gone"])
    assert importing.said.value.startswith("There is no file or folder")


def test_the_same_bytes_twice_are_a_copy(importing: Importing, tmp_path: Path) -> None:
    semicolon_file(tmp_path / "a" / "S1.csv")
    semicolon_file(tmp_path / "b" / "S9.csv")
    importing.add([tmp_path])
    importing.read()
    assert states(importing) == {"S1.csv": "read", "S9.csv": "copy"}
    assert importing.files.row("b/S9.csv").why == "The same bytes (SHA-256) as a/S1.csv."


def test_files_of_one_name_in_two_folders_are_both_kept(
    importing: Importing, tmp_path: Path
) -> None:
    for name, scale in (("one", 1.0), ("two", 0.9)):
        semicolon_file(tmp_path / name / "C1" / "S1.csv", scale)
        importing.add([tmp_path / name])
    importing.add([tmp_path / "one"])
    assert importing.said.value == "These files are in the list already."
    importing.read()
    assert len(importing.files.report.traces) == 2


def test_a_typed_mistake_is_said_and_the_recipe_before_it_holds(
    importing: Importing, tmp_path: Path
) -> None:
    importing.add([semicolon_file(tmp_path / "S1.csv")])
    guessed = importing.recipe.text.value
    assert 'column = "Spannung"' in guessed
    importing.recipe.edit_text(guessed.replace('delimiter = ";"', 'delimiter = "#"'))
    assert "line" in importing.recipe.problem.value
    assert "delimiter '#' is not known" in importing.recipe.problem.value
    assert importing.recipe.recipe.value is None
    importing.recipe.edit_text(guessed.replace('"Strom"', '"Stroom"'))
    assert importing.recipe.problem.value == ""
    preview = importing.recipe.preview.value
    assert preview is not None
    assert "there is no column 'Stroom'" in preview.problems[0]
    assert preview.table is not None  # still shown, so that it can be put right


def test_failed_files_are_read_once_the_recipe_is_right(
    importing: Importing, tmp_path: Path
) -> None:
    unnamed_file(tmp_path / "S1.csv")
    semicolon_file(tmp_path / "S2.csv")
    importing.add([tmp_path])
    importing.recipe.choose("S2.csv")
    importing.recipe.edit_text(importing.recipe.text.value + "\n# for every file\n")
    importing.recipe.use(importing.recipe.shown)
    importing.read()
    assert states(importing) == {"S1.csv": "failed", "S2.csv": "read"}
    assert "line" in importing.files.row("S1.csv").why
    importing.recipe.choose("S1.csv")
    table = importing.recipe.preview.value.table
    recipe = with_role(importing.recipe.shown, table, 2, "voltage")
    importing.recipe.use(with_role(recipe, table, 1, "current"))
    importing.retry()
    assert states(importing) == {"S1.csv": "read", "S2.csv": "read"}
    trace = importing.files.report.readings["S1.csv"][1].traces[0]
    assert trace.voltage[-1] == 708.0


def test_other_rules_for_the_text_find_the_columns_anew(
    importing: Importing, tmp_path: Path
) -> None:
    importing.add([semicolon_file(tmp_path / "S1.csv")])
    shown = importing.recipe.shown
    importing.recipe.use(with_text(shown, type(shown.text)(delimiter=";", decimal=",")))
    completed = importing.recipe.recipe.value
    assert completed.curves == shown.curves
    assert completed.fields == shown.fields
    importing.recipe.look_at_each()
    assert importing.recipe.recipe.value is None


def test_a_recipe_is_saved_and_loaded(importing: Importing, tmp_path: Path) -> None:
    importing.recipe.save(tmp_path / "r.toml")
    assert importing.said.value.startswith("There is nothing to save")
    importing.add([semicolon_file(tmp_path / "S1.csv")])
    importing.recipe.save(tmp_path / "r.toml")
    shown = importing.recipe.shown
    importing.recipe.load(tmp_path / "r.toml")
    assert importing.recipe.recipe.value == shown
    (tmp_path / "r.toml").write_text("curve = 3", encoding="utf-8")
    importing.recipe.load(tmp_path / "r.toml")
    assert importing.said.value.startswith("r.toml")
    assert importing.recipe.recipe.value == shown


def test_a_visit_folder_is_written_once_and_opened(
    importing: Importing, session: Session, tmp_path: Path
) -> None:
    semicolon_file(tmp_path / "raw" / "C1" / "S1.csv")
    workbook_file(tmp_path / "raw" / "C2" / "book.xlsx")
    visit = tmp_path / "visit"
    visit.mkdir()
    (visit / "site.toml").write_text('name = "Kept"\n', encoding="utf-8")
    importing.add([tmp_path / "raw"])
    importing.read()
    importing.write(visit)
    assert session.folder == visit
    assert session.layout is not None
    assert session.layout.name == "Kept"
    assert {one.trace.combiner for one in session.results} == {"C1", "C2"}
    assert len(session.results) == 3
    before = sorted(visit.rglob("*.csv"))
    importing.write(visit)
    assert sorted(visit.rglob("*.csv")) == before
    assert "3 traces there already" in importing.said.value
    importing.write(tmp_path)
    assert "Choose another folder" in importing.said.value


def test_what_was_written_follows_a_corrected_recipe(importing: Importing, tmp_path: Path) -> None:
    importing.add([semicolon_file(tmp_path / "raw" / "C1" / "S1_x.csv")])
    importing.read()
    visit = tmp_path / "visit"
    importing.write(visit)
    recipe = importing.recipe.shown
    pattern = r"(?P<combiner>[^/]+)/(?P<string>[^/_]+)_"
    importing.recipe.use(type(recipe)(**{**vars(recipe), "paths": (pattern,)}))
    importing.read_again()
    importing.write(visit)
    assert [one.name for one in visit.rglob("*.csv")] == ["S1_2024-05-17T101530.csv"]


def test_a_file_changed_by_somebody_is_not_replaced(importing: Importing, tmp_path: Path) -> None:
    importing.add([semicolon_file(tmp_path / "raw" / "C1" / "S1.csv")])
    importing.read()
    visit = tmp_path / "visit"
    importing.write(visit)
    (written,) = visit.rglob("*.csv")
    written.write_text(written.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    importing.write(visit)
    assert written in visit.rglob("*.csv")
    assert len(list(visit.rglob("*.csv"))) == 2


def test_the_log_is_joined_when_written(importing: Importing, tmp_path: Path) -> None:
    importing.add([semicolon_file(tmp_path / "raw" / "C1" / "S1.csv")])
    importing.writing.log.value = LogChoice(log_file(tmp_path / "log.csv"))
    importing.writing.try_log()
    assert "Read the files first" in importing.writing.log_said.value
    importing.read()
    importing.writing.try_log()
    assert "Traces with a reading: 1 of 1." in importing.writing.log_said.value
    importing.write(tmp_path / "visit")
    text = next((tmp_path / "visit").rglob("*.csv")).read_text(encoding="utf-8")
    assert "# temperature_air: 21.55" in text
    record = tomllib.loads((tmp_path / "visit" / RECORD_NAME).read_text(encoding="utf-8"))
    (entry,) = record["trace"]
    raw = (tmp_path / "raw" / "C1" / "S1.csv").read_bytes()
    assert entry["sha256"] == hashlib.sha256(raw).hexdigest()
    assert entry["read_from"] == "C1/S1.csv"
    assert any("From log.csv" in remark for remark in entry["remarks"])
    assert "# poa_global: 812.5" in text  # the trace's own reading is kept


@pytest.mark.parametrize(
    ("choice", "said"),
    [
        ({"timezone": "Nowhere/Land"}, "There is no time zone 'Nowhere/Land'"),
        ({"clock_offset": None}, "1 dated trace: too few"),
        (
            {"tolerance": 1.0, "nearest": True},
            "Traces without a reading of log.csv within 1 s: 1 of 1",
        ),
    ],
)
def test_what_is_wrong_with_a_log_is_said(
    importing: Importing, tmp_path: Path, choice: dict, said: str
) -> None:
    importing.add([semicolon_file(tmp_path / "S1.csv")])
    importing.read()
    importing.writing.log.value = LogChoice(log_file(tmp_path / "log.csv"), **choice)
    importing.writing.try_log()
    assert said in importing.writing.log_said.value


def test_a_watched_folder_is_read_written_and_shown(
    importing: Importing, session: Session, tmp_path: Path
) -> None:
    card = tmp_path / "card"
    semicolon_file(card / "C1" / "S1.csv")
    importing.watch(card)
    assert states(importing) == {"S1.csv": "waiting"}
    importing.read()
    importing.write(tmp_path / "visit")
    assert len(session.results) == 1
    semicolon_file(card / "C1" / "S2.csv", 0.9)
    importing.look()
    assert "S2.csv" not in states(importing)  # it may still be growing
    importing.look()
    assert states(importing)["S2.csv"] == "read"
    assert len(session.results) == 2
    assert session.current is not None
    assert session.current.trace.string == "S2"
    importing.watch(None)
    semicolon_file(card / "C1" / "S3.csv", 0.8)
    importing.look()
    importing.look()
    assert "S3.csv" not in states(importing)
    record = tomllib.loads((tmp_path / "visit" / RECORD_NAME).read_text(encoding="utf-8"))
    assert [one["read_from"] for one in record["trace"]] == ["C1/S1.csv", "C1/S2.csv"]


def test_the_visit_may_not_lie_in_the_watched_folder(importing: Importing, tmp_path: Path) -> None:
    card = tmp_path / "card"
    workbook_file(card / "book.xlsx")
    importing.watch(card)
    importing.read()
    importing.write(card / "visit")
    assert "lie in each other" in importing.said.value
    assert not (card / "visit").exists()


def test_cancelled_files_are_still_waiting(
    importing: Importing, session: Session, tmp_path: Path
) -> None:
    for number in range(5):
        semicolon_file(tmp_path / f"S{number}.csv", 1 - number / 10)
    importing.add([tmp_path])

    def cancelled_first(job: Job) -> None:
        job.cancel()
        run_here(job)

    before = session.jobs.runner
    session.jobs.runner = cancelled_first
    importing.read()
    assert "Cancelled with 5 files still waiting" in importing.said.value
    session.jobs.runner = before
    importing.read()
    assert set(states(importing).values()) == {"read"}
    importing.clear()
    assert importing.files.rows == ()
    assert importing.recipe.preview.value is None
