import subprocess
import sys
from pathlib import Path

import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.app.window.crash_recovery import CrashRecovery
from viewer.state.keeping.what_was_open import WhatWasOpen, read_open, write_open
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.program.start_page import StartPage

ROOT = Path(__file__).resolve().parents[3]
CRASHING = """
import os, sys
from pathlib import Path
from PySide6.QtCore import QCoreApplication
from tests.invented_results import InventedOpener, invented_visits
from viewer.app.window.crash_recovery import CrashRecovery
from viewer.state.session import Session
application = QCoreApplication([])
session = Session(InventedOpener(invented_visits()))
recovery = CrashRecovery(session, Path(sys.argv[1]) / "open", Path(sys.argv[1]))
assert recovery.begin() is None
session.open(Path(sys.argv[1]) / "visit")
session.choices.visit.value = session.visits[0].name
session.selection.choose(["2025/C1/S2.csv", "2025/C1/S1.csv"], "2025/C1/S2.csv")
session.selection.pin("2025/C1/S3.csv")
recovery.write()
os.abort()
"""


@pytest.fixture
def crashed(tmp_path):
    """A folder in which a program was aborted while a site was open."""
    (tmp_path / "visit").mkdir()
    ran = subprocess.run(
        [sys.executable, "-c", CRASHING, str(tmp_path)], cwd=ROOT, capture_output=True, text=True
    )
    assert ran.returncode != 0
    assert "AssertionError" not in ran.stderr
    return tmp_path


def recovery_in(folder, session):
    return CrashRecovery(session, folder / "open", folder)


def test_what_was_open_at_a_crash_is_offered_once_and_opened_as_it_was(crashed, qapp, shown, look):
    session = Session(InventedOpener(invented_visits()), Settings())
    recovery = recovery_in(crashed, session)
    session.left_open.value = recovery.begin()
    page = shown(StartPage(session, look, ()))
    assert page.again.isVisible()
    assert "visit" in page.again.text()
    page.again.click()
    assert session.folder == crashed / "visit"
    assert set(session.selection.ids) == {"2025/C1/S2.csv", "2025/C1/S1.csv"}
    assert session.selection.current == "2025/C1/S2.csv"
    assert session.selection.pinned == ("2025/C1/S3.csv",)
    assert session.choices.visit.value == session.visits[0].name
    assert not page.again.isVisible()
    recovery.end()
    assert recovery_in(crashed, session).begin() is None


def test_the_interpreter_says_in_the_crash_file_where_it_was(crashed):
    assert "Abort" in (crashed / "crash.log").read_text(encoding="utf-8")


def test_a_program_that_still_runs_has_not_crashed(tmp_path, qapp, session):
    one = recovery_in(tmp_path, session)
    assert one.begin() is None
    one.write()
    records = list((tmp_path / "open").glob("*.toml"))
    assert len(records) == 1
    look_on = (
        "import sys; from pathlib import Path; from viewer.state.session import Session;"
        "from viewer.app.window.crash_recovery import CrashRecovery;"
        "from PySide6.QtCore import QCoreApplication; a = QCoreApplication([]);"
        "p = Path(sys.argv[1]); r = CrashRecovery(Session(lambda *_: iter(())), p / 'open', p);"
        "print(r.begin()); r.end()"
    )
    ran = subprocess.run(
        [sys.executable, "-c", look_on, str(tmp_path)], cwd=ROOT, capture_output=True, text=True
    )
    assert ran.stdout.strip() == "None"
    assert records[0].exists()
    one.end()
    assert not list((tmp_path / "open").iterdir())


def test_a_good_end_leaves_nothing(tmp_path, qapp, session):
    recovery = recovery_in(tmp_path, session)
    recovery.begin()
    recovery.write()
    recovery.end()
    assert recovery_in(tmp_path, session).begin() is None


@pytest.mark.parametrize("text", ["", "folder = 3", "folder = ", "\0", 'folder = "/gone/away"'])
def test_a_damaged_record_or_a_site_that_is_gone_is_no_offer(tmp_path, text):
    path = tmp_path / "1.open.toml"
    path.write_text(text, encoding="utf-8")
    assert read_open(path) is None


def test_a_record_survives_being_written_and_read(tmp_path):
    record = WhatWasOpen(str(tmp_path), "2025", ("a", "b"), "b", ("c",))
    write_open(tmp_path / "1.open.toml", record)
    assert read_open(tmp_path / "1.open.toml") == record


def test_a_folder_that_cannot_be_made_costs_nothing_else(tmp_path, qapp, session):
    (tmp_path / "open").write_text("a file lies here", encoding="utf-8")
    recovery = recovery_in(tmp_path, session)
    assert recovery.begin() is None
    recovery.write()
    recovery.end()
    assert (tmp_path / "open").read_text(encoding="utf-8") == "a file lies here"
