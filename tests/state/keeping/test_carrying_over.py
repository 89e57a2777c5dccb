"""What a folder keeps beside its traces goes into a site file with them, and comes out again."""

import hashlib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from tests.invented_pictures import picture_bytes
from viewer.analysis.causes.confirmation import Confirmation
from viewer.reports.annotation import Annotation
from viewer.site_data.pictures import NewPicture, PicturePlace
from viewer.site_data.report_details_file import EnteredDetails, EnteredRepair
from viewer.site_data.site_file.annotation_listing import list_annotations
from viewer.site_data.site_file.annotations import About, add_note, read_repairs, read_settings
from viewer.site_data.site_file.baseline import baseline_visit
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.journal import operations, redo, undo
from viewer.site_data.site_file.restoring import restore_files
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.keeping.carrying_back import carry_back
from viewer.state.keeping.carrying_over import Carried
from viewer.state.keeping.folder_history import FolderHistory
from viewer.state.keeping.mark_store import store_for
from viewer.state.keeping.picture_store import pictures_at
from viewer.state.keeping.report_texts import store_details, stored_details
from viewer.state.keeping.settled_store import settled_in, settled_in_folder
from viewer.state.keeping.settled_store import store_in_folder as store_settled
from viewer.state.keeping.site_import import import_steps
from viewer.state.program.notifier import Value
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.state.years.kept_choices import KeptChoices, store_in_folder, stored_choices

OLD, NEW = "2020/CB1/S1.csv", "2025/CB1/S1.csv"
MARK = Annotation("text", "iv", "measured", ((100.0, 5.0),), "step here")
TERMS = WarrantyTerms(2.0, 0.5, 25.0, start=date(2020, 6, 1))
SETTLED = Confirmation(
    NEW,
    "none",
    "shading",
    "branch cut",
    ("saw",),
    "M. Invented",
    datetime(2025, 6, 3, 12, tzinfo=UTC),
    None,
)
ENTRIES = EnteredDetails(
    {
        "client": "Invented & Co",
        "instruments": ("tracer 7",),
        "texts": {NEW: "Look here."},
        "strings": (NEW,),
    },
    (EnteredRepair("CB1", "S1", "2025-06-03", "branch cut"),),
)
CONTENT = picture_bytes("PNG")


def fill(folder: Path) -> None:
    """One of each kind that a folder keeps."""
    marks = store_for(folder)
    marks.read()
    marks.add(NEW, MARK)
    picture = NewPicture("branch.png", CONTENT, None, "photograph", "a branch")
    pictures_at(folder).add([picture], PicturePlace("CB1", "S1", NEW, "2025"))
    store_settled(folder, [SETTLED])
    store_in_folder(folder, KeptChoices("2025", {"A": TERMS}))
    store_details(folder, ENTRIES)


@pytest.fixture
def folder(tmp_path) -> Path:
    made = write_site(tmp_path / "visits", strings=2, years=(2020, 2025))
    fill(made)
    return made


@pytest.fixture
def path(tmp_path) -> Path:
    return tmp_path / "field.curvewright"


def bring_in(folder: Path, path: Path) -> Carried:
    (carried,) = [one.carried for one in import_steps(folder, path) if one.carried is not None]
    return carried


def kept_at(home: Path) -> dict[str, object]:
    """All five kinds of a folder or a site file, in comparable form."""
    settled = settled_in_folder(home) if home.is_dir() else None
    if settled is None:
        with open_site_file(home) as site_file:
            settled = settled_in(site_file)
    pictures = pictures_at(home)
    return {
        "marks": [(one.trace_id, one.mark) for one in store_for(home).read()],
        "pictures": [
            (p.kind, p.file_name, p.caption, p.place, p.added_at, pictures.content(p))
            for p in pictures.read()
        ],
        "settled": settled,
        "choices": stored_choices(home),
        "entries": stored_details(home),
    }


NOTHING = {
    "marks": [],
    "pictures": [],
    "settled": [],
    "choices": KeptChoices(),
    "entries": EnteredDetails({}, ()),
}


def test_every_kind_is_in_the_site_file(folder, path):
    carried = bring_in(folder, path)
    assert kept_at(path) == kept_at(folder)
    assert kept_at(path)["pictures"][0][-1] == CONTENT
    assert carried.left == []
    assert carried.text() == (
        "Carried over: 1 plot mark, 1 picture, 1 settled finding, 1 baseline visit, "
        "1 module's warranty terms, 5 report entries."
    )
    with open_site_file(path) as site_file:
        assert baseline_visit(site_file).name == "2025"
        (repair,) = read_repairs(site_file)
        assert (repair.combiner, repair.string) == ("CB1", "S1")
        assert repair.repaired_on == SETTLED.confirmed_at.astimezone().date()
        (finding,) = [one for one in list_annotations(site_file) if one.kind == "finding"]
        assert (finding.author, finding.state) == ("M. Invented", "closed")


def test_all_of_it_is_one_step_with_the_import(folder, path):
    bring_in(folder, path)
    with open_site_file(path) as site_file:
        assert [one.label for one in operations(site_file)] == [f"Import of {folder}"]
        undo(site_file)
    assert kept_at(path) == NOTHING
    with open_site_file(path) as site_file:
        redo(site_file)
    assert kept_at(path) == kept_at(folder)


def test_a_second_import_brings_only_what_is_new(folder, path):
    bring_in(folder, path)
    before = kept_at(path)
    assert bring_in(folder, path) == Carried()
    assert kept_at(path) == before
    marks = store_for(folder)
    marks.read()
    marks.add(OLD, MARK)
    assert bring_in(folder, path).text() == "Carried over: 1 plot mark."
    assert [trace for trace, _ in kept_at(path)["marks"]] == [NEW, OLD]


def test_what_was_removed_from_the_site_file_stays_away(folder, path):
    bring_in(folder, path)
    (mark,) = store_for(path).read()
    store_for(path).remove(mark.number)
    pictures_at(path).remove(pictures_at(path).read()[0])
    bring_in(folder, path)
    assert kept_at(path)["marks"] == []
    assert kept_at(path)["pictures"] == []


def test_what_the_site_file_says_itself_stays_and_is_told_of(folder, path):
    bring_in(folder, path)
    before = kept_at(path)
    store_in_folder(folder, KeptChoices("2020", {"A": WarrantyTerms(3.0, 0.7, 25.0)}))
    store_details(folder, EnteredDetails({"client": "Another"}, ()))
    carried = bring_in(folder, path)
    assert kept_at(path) == before
    assert carried.left_text() == (
        "Not carried over: the baseline 2020 (the site file has 2025); warranty terms of A "
        "(the site file has its own); the report entry client (the site file has its own)."
    )


def test_the_later_of_two_settled_findings_holds(folder, path):
    bring_in(folder, path)
    later = Confirmation(NEW, "none", "soiling", confirmed_at=datetime(2026, 1, 1, tzinfo=UTC))
    store_settled(folder, [later])
    bring_in(folder, path)
    assert kept_at(path)["settled"] == [later]
    store_settled(folder, [SETTLED])
    assert bring_in(folder, path).text() == ""
    assert kept_at(path)["settled"] == [later]


def another_with_the_same_names(tmp_path):
    """A folder whose traces have names that the first has too, one of them marked."""
    second = write_site(tmp_path / "second", strings=2, years=(2023,))
    (second / "2023").rename(second / "2025")
    marks = store_for(second)
    marks.read()
    marks.add(NEW, MARK)
    return second


def test_traces_of_the_same_name_from_another_folder_keep_theirs_apart(folder, path, tmp_path):
    bring_in(folder, path)
    bring_in(another_with_the_same_names(tmp_path), path)
    first, other = [trace for trace, _ in kept_at(path)["marks"]]
    assert (first, other) == (NEW, f"{NEW} (2023-06-01, 2)")
    opened = Session(open_site)
    opened.open(path)
    assert opened.result(other).trace.measured_at.year == 2023


def test_what_belongs_nowhere_is_said_and_the_rest_is_carried(folder, path):
    store_settled(folder, [SETTLED, Confirmation("gone.csv", "none", "soiling")])
    (folder / "plot_marks.toml").write_text(
        (folder / "plot_marks.toml").read_text() + '\n[[mark]]\ntrace = "gone.csv"\nkind = "text"'
        '\npanel = "iv"\nform = "measured"\npoints = [[1.0, 2.0]]\ntext = "x"\n'
    )
    (kept_file,) = (folder / "pictures").iterdir()
    kept_file.write_bytes(b"damaged")
    (folder / "choices.toml").write_text("baseline = 7\n")
    carried = bring_in(folder, path)
    said = carried.left_text()
    assert "1 plot mark of traces that are not in the folder (gone.csv)" in said
    assert "1 settled finding of traces that are not in the folder (gone.csv)" in said
    assert "branch.png (pictures/" in said
    assert "the choices (choices.toml: baseline must be the name of a visit, not 7)" in said
    assert said.count("Not carried over") == 1
    kept = kept_at(path)
    assert (len(kept["marks"]), len(kept["settled"]), kept["pictures"]) == (1, 1, [])
    assert kept["entries"] == ENTRIES


def test_without_a_layout_a_settled_finding_is_about_its_trace(folder, path):
    (folder / "site.toml").unlink()
    carried = bring_in(folder, path)
    assert kept_at(path)["settled"] == [SETTLED]
    with open_site_file(path) as site_file:
        (finding,) = [one for one in list_annotations(site_file) if one.kind == "finding"]
        assert finding.about == NEW
    assert "what branch.png belonged to" in carried.left_text()
    assert len(kept_at(path)["pictures"]) == 1


def test_an_import_that_is_stopped_leaves_nothing(folder, path):
    steps = import_steps(folder, path)
    for step in steps:
        if step.progress.text == "the settled findings":
            break
    steps.close()
    with open_site_file(path) as site_file:
        assert operations(site_file) == []
        assert read_settings(site_file) == {}


def test_a_site_file_is_written_as_a_folder_with_all_it_can_hold(folder, path, tmp_path):
    logo = tmp_path / "logo.png"
    logo.write_bytes(CONTENT)
    store_details(folder, EnteredDetails({**ENTRIES.values, "logo": logo}, ENTRIES.repairs))
    (folder / "recipe.toml").write_text("# invented, changes nothing\n", encoding="utf-8")
    carried = bring_in(folder, path)
    assert carried.left == [f"the logo's own bytes: reports go on reading it from {logo}"]
    again = tmp_path / "again"
    with open_site_file(path) as site_file:
        add_note(site_file, About(), "gate code changed")
        for _ in restore_files(site_file, again):
            pass
        carried = carry_back(site_file, again)
    assert kept_at(again) == kept_at(folder)
    assert (again / "recipe.toml").read_bytes() == (folder / "recipe.toml").read_bytes()
    assert carried.left_text() == (
        "Not carried over: 1 note (a folder cannot hold them; they stay in field.curvewright)."
    )
    assert bring_in(again, path) == Carried()


def test_restored_names_follow_files_of_one_name_from_two_folders(folder, path, tmp_path):
    bring_in(folder, path)
    second = another_with_the_same_names(tmp_path)
    bring_in(second, path)
    again = tmp_path / "again"
    with open_site_file(path) as site_file:
        for _ in restore_files(site_file, again):
            pass
        carry_back(site_file, again)
    traces = [trace for trace, _ in kept_at(again)["marks"]]
    assert traces == [NEW, f"import-2/{NEW}"]
    digests = [hashlib.sha256((again / one).read_bytes()).hexdigest() for one in traces]
    assert digests == [
        hashlib.sha256((home / NEW).read_bytes()).hexdigest() for home in (folder, second)
    ]
    history = FolderHistory(Value(""))
    assert len(store_for(again, history).read()) == 2


def test_saving_in_the_window_says_what_was_carried_and_what_was_not(folder, path):
    store_settled(folder, [SETTLED, Confirmation("gone.csv", "none", "soiling")])
    opened = Session(open_site)
    opened.open(folder)
    opened.notes.import_folder(folder, path)
    assert opened.folder == path
    assert "8 traces stored in" in opened.message.value
    assert "Carried over: 1 plot mark, 1 picture, 1 settled finding" in opened.message.value
    assert opened.message.value.startswith("Not carried over: 1 settled finding")
    assert opened.message.value.endswith(opened.summary())
    assert [one.mark for one in opened.marks.all] == [MARK]
    assert opened.years.baseline.value == "2025"
    assert dict(opened.years.terms.value) == {"A": TERMS}
