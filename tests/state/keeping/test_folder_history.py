"""What people change about an open folder is taken back and done again, whatever kind it is."""

from pathlib import Path

import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.analysis.causes.confirmation import confirm
from viewer.reports.annotation import Annotation
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.keeping.folder_history import FileStep, FolderHistory
from viewer.state.program.notifier import Value
from viewer.state.program.settings import Settings
from viewer.state.session import Session

ARROW = Annotation("arrow", "iv", "measured", ((10.0, 2.0), (20.0, 4.0)), "knee")
TRACE = "2025/C1/S2.csv"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "visit"


@pytest.fixture
def session(folder: Path) -> Session:
    folder.mkdir()
    made = Session(InventedOpener(invented_visits()), Settings())
    made.open(folder)
    return made


def test_marks_findings_and_choices_go_back_in_the_order_they_were_made(session, folder):
    settled = session.settled
    session.marks.add(TRACE, ARROW)
    settled.settle(session.result(TRACE), confirm(session.result(TRACE)))
    session.years.baseline.value = "2025-06-05"
    session.years.terms.value = {"M": WarrantyTerms(first_year=2.0, annual=0.5)}
    labels = []
    while session.undo_label:
        labels.append(session.undo_label)
        session.undo()
    assert labels == [
        "Warranty terms",
        "Baseline visit",
        "Finding on C1 S2",
        "Plot mark: add arrow",
    ]
    assert session.message.value == "Taken back: Plot mark: add arrow."
    assert session.marks.all == ()
    assert (session.years.baseline.value, session.years.terms.value) == (None, {})
    assert list(folder.iterdir()) == []
    while session.redo_label:
        session.redo()
    assert [one.mark for one in session.marks.all] == [ARROW]
    assert session.years.baseline.value == "2025-06-05"
    settled.read()
    assert set(settled.by_trace) == {TRACE}


def test_a_new_step_ends_what_could_be_done_again(session):
    session.marks.add(TRACE, ARROW)
    session.undo()
    assert session.redo_label == "Plot mark: add arrow"
    session.years.baseline.value = "2025-06-05"
    assert session.redo_label is None


def test_nothing_to_take_back_is_said(session):
    session.undo()
    assert session.message.value == "There is nothing to take back."
    session.redo()
    assert session.message.value == "There is nothing to do again."


def test_a_file_changed_elsewhere_is_left_alone(session, folder):
    session.marks.add(TRACE, ARROW)
    file = folder / "plot_marks.toml"
    file.write_text(file.read_text() + "# mine\n")
    session.undo()
    assert "plot_marks.toml has been changed since" in session.message.value
    assert file.read_text().endswith("# mine\n")
    assert session.undo_label == "Plot mark: add arrow"


def test_another_folder_has_no_steps_and_the_same_one_keeps_them(session, folder, tmp_path):
    session.marks.add(TRACE, ARROW)
    session.open(folder)
    assert session.undo_label == "Plot mark: add arrow"
    (tmp_path / "other").mkdir()
    session.open(tmp_path / "other")
    assert session.undo_label is None


def test_opening_a_folder_is_no_step(session, folder):
    session.years.baseline.value = "2025-06-05"
    session.undo()
    session.open(folder)
    assert session.undo_label is None


def test_bytes_come_back_as_they_were(tmp_path):
    """Line ends and all: site.toml is the user's own file."""
    file = tmp_path / "site.toml"
    file.write_bytes(b'name = "A"\r\n')
    history = FolderHistory(Value(""))
    history.change_file("Module", file, lambda: file.write_bytes(b'name = "B"\n'))
    history.undo()
    assert file.read_bytes() == b'name = "A"\r\n'
    history.redo()
    assert file.read_bytes() == b'name = "B"\n'


def test_a_step_that_cannot_be_written_stays(tmp_path):
    message = Value("")
    history = FolderHistory(message)
    gone = tmp_path / "gone" / "marks.toml"
    history.did(FileStep("Mark", gone, b"x", None))
    history.undo()
    assert history.undo_label == "Mark"
    assert message.value


def test_a_change_that_fails_is_no_step(tmp_path):
    history = FolderHistory(Value(""))

    def fail() -> None:
        raise OSError("full")

    with pytest.raises(OSError, match="full"):
        history.change_file("Mark", tmp_path / "a", fail)
    assert history.undo_label is None
