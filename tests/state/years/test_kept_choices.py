"""Baseline and warranty terms are there again when a site is opened again, and can be undone."""

import shutil
from datetime import date
from pathlib import Path

import pytest

from viewer.site_data.resource_folder import example_folder
from viewer.site_data.site_file.baseline import baseline_visit
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.keeping.site_import import import_steps
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.state.years.kept_choices import (
    FILE_NAME,
    KeptChoices,
    choices_from_table,
    choices_table,
    stored_choices,
)

LINEAR = WarrantyTerms(2.5, 0.6, 30.0, start=date(2023, 5, 1), rated_power=398.0)
STEPS = WarrantyTerms(steps=((10.0, 90.0), (25.0, 80.0)))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two visits of a few strings each."""
    made = tmp_path / "site"
    shutil.copytree(example_folder(), made)
    for visit in (one for one in made.iterdir() if one.is_dir()):
        for file in sorted(visit.rglob("*.csv")):
            if "S01" not in file.name and "S02" not in file.name and "log" not in file.name:
                file.unlink()
    return made


def opened(path: Path) -> Session:
    session = Session(open_site, Settings())
    session.open(path)
    return session


@pytest.mark.parametrize("terms", [LINEAR, STEPS])
def test_a_table_gives_back_what_was_put_in(terms):
    choices = KeptChoices("2024", {"module a": terms})
    assert choices_from_table(choices_table(choices), "x") == choices


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"baseline": 3}, "baseline must be the name"),
        ({"warranty": {"m": 3}}, r"\[warranty.KEY\]"),
        ({"warranty": {"m": {"first_year": 2.0}}}, "warranty of m: .*annual"),
        ({"warranty": {"m": {"first_year": 2.0, "annual": 1.0, "start": "May"}}}, "warranty of m"),
    ],
)
def test_what_is_wrong_in_the_file_is_one_sentence(table, said):
    with pytest.raises(ValueError, match=said):
        choices_from_table(table, "choices.toml")


def test_a_folder_keeps_them_until_they_are_taken_back(folder):
    session = opened(folder)
    key = next(iter(session.layout.modules))
    visit = session.visits[-1].name
    session.years.terms.value = {key: LINEAR}
    session.years.baseline.value = visit
    again = opened(folder)
    assert again.years.terms.value == {key: LINEAR}
    assert again.years.baseline.value == visit
    assert again.undo_label is None
    assert not any(FILE_NAME in one for one in again.remarks)
    session.undo()
    assert stored_choices(folder) == KeptChoices(None, {key: LINEAR})
    session.undo()
    assert not (folder / FILE_NAME).exists()
    session.redo()
    assert stored_choices(folder).terms == {key: LINEAR}


def test_a_bad_file_is_said_and_left_as_it_is(folder):
    (folder / FILE_NAME).write_text("baseline = 3\n")
    session = Session(open_site, Settings())
    heard: list[str] = []

    class Ear:
        def hear(self, said: str) -> None:
            heard.append(said)

    ear = Ear()
    session.message.changed.connect(ear.hear)
    session.open(folder)
    assert any("baseline must be the name" in one for one in heard)
    assert (folder / FILE_NAME).read_text() == "baseline = 3\n"


def test_a_site_file_keeps_them_as_steps_of_its_journal(folder, tmp_path):
    path = tmp_path / "site.curvewright"
    list(import_steps(folder, path))
    session = opened(path)
    key = next(iter(session.layout.modules))
    visit = session.visits[-1].name
    session.years.terms.value = {key: STEPS}
    session.years.baseline.value = visit
    assert session.undo_label == "Baseline visit"
    with open_site_file(path) as site_file:
        assert baseline_visit(site_file).name == visit
    again = opened(path)
    assert again.years.terms.value == {key: STEPS}
    assert again.years.baseline.value == visit
    again.undo()
    assert again.years.baseline.value is None
    again.undo()
    assert again.years.terms.value == {}
    assert stored_choices(path) == KeptChoices()
    again.redo()
    assert again.years.terms.value == {key: STEPS}
    assert stored_choices(path).terms == {key: STEPS}
