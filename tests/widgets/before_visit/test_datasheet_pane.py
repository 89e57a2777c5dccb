"""Datasheets: picked from the list, typed, explained, and kept in site.toml."""

import shutil
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from viewer.site_data.module_library import module_named
from viewer.site_data.resource_folder import example_folder
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.before_visit.datasheet_pane import DatasheetPane
from viewer.widgets.controls.theme import Look

LISTED = "Aleo Solar P19Y305"


@pytest.fixture
def session(qtbot: QtBot) -> Session:
    return Session(open_site)


@pytest.fixture
def pane(qtbot: QtBot, session: Session) -> DatasheetPane:
    made = DatasheetPane(session, Look(session.settings))
    qtbot.addWidget(made)
    return made


def test_part_of_a_name_finds_and_fills(pane: DatasheetPane) -> None:
    pane.search.setText("aleo p19y305")
    assert LISTED in [pane.found.item(k).text() for k in range(pane.found.count())]
    pane.found.setCurrentRow(0)
    picked = module_named(LISTED).datasheet
    assert pane.numbers["i_sc"].value() == pytest.approx(picked.i_sc)
    assert "Single-diode model" in pane.said.toPlainText()
    assert " × 10⁻" in pane.said.toPlainText()
    assert pane.entered().library == picked.library


def test_contradictions_are_explained_as_typed(pane: DatasheetPane) -> None:
    assert "Diode factor" in pane.said.toPlainText()
    pane.numbers["i_mp"].setValue(12.0)
    said = pane.said.toPlainText()
    assert "contradict" in said
    assert "i_mp" in said
    pane.numbers["i_mp"].setValue(9.5)
    assert "contradict" not in pane.said.toPlainText()


def test_fit_is_shown_with_its_residuals(pane: DatasheetPane) -> None:
    lines = pane.said.toPlainText()
    assert "Model minus datasheet" in lines
    assert "0.0000 %" in lines


def _copy(tmp_path: Path, with_site: bool) -> Path:
    folder = tmp_path / "visit"
    source = example_folder()
    some = sorted((source / "2025-06-first-year" / "CB-A").glob("*.csv"))[:3]
    (folder / "CB-A").mkdir(parents=True)
    for file in some:
        shutil.copy(file, folder / "CB-A")
    if with_site:
        shutil.copy(source / "site.toml", folder)
    return folder


def test_module_is_added_and_the_rest_stays(
    pane: DatasheetPane, session: Session, tmp_path: Path
) -> None:
    folder = _copy(tmp_path, with_site=True)
    session.open(folder)
    before = (folder / "site.toml").read_text(encoding="utf-8")
    pane.search.setText(LISTED)
    pane.found.setCurrentRow(0)
    pane.key.setText("PICKED")
    pane.keep.click()
    after = (folder / "site.toml").read_text(encoding="utf-8")
    assert after.startswith(before)
    assert session.layout is not None
    assert session.layout.modules["PICKED"].i_sc == pytest.approx(10.06)
    pane.keep.click()
    assert "already" in session.message.value
    assert (folder / "site.toml").read_text(encoding="utf-8") == after


def test_bare_traces_get_a_site(pane: DatasheetPane, session: Session, tmp_path: Path) -> None:
    folder = _copy(tmp_path, with_site=False)
    session.open(folder)
    assert all(one.predicted is None for one in session.results)
    pane.show_datasheet(module_named(LISTED).datasheet)
    pane.key.setText("LISTED")
    pane.in_series.setValue(26)
    pane.describe.click()
    assert (folder / "site.toml").is_file()
    assert all(one.predicted is not None for one in session.results)
    assert not pane.describe.isEnabled()


def test_contradicting_numbers_are_not_kept(
    pane: DatasheetPane, session: Session, tmp_path: Path
) -> None:
    folder = _copy(tmp_path, with_site=False)
    session.open(folder)
    pane.numbers["v_mp"].setValue(60.0)
    pane.describe.click()
    assert not (folder / "site.toml").exists()
    assert "contradict" in session.message.value
