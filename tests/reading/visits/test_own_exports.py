"""A table of points that was exported into the folder of its traces brings none a second time."""

from pathlib import Path

import pytest

from tests.app.invented_site import write_site
from viewer.app.command_line import run
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.iv_trace import NotATrace, Trace
from viewer.state.keeping.site_import import import_steps
from viewer.state.visit_opening import open_site

ENDINGS = (".csv", ".xlsx", ".parquet")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_site(tmp_path / "visits", strings=2, years=(2020,))


def export(from_: Path, to: Path) -> None:
    assert run(["read", str(from_), "--points", str(to), "--quiet"]) == 0


def opened(folder: Path) -> tuple[list[str], list[str]]:
    """Sources of the traces, and what was remarked."""
    arrivals = [one for _, one in open_site(folder)]
    assert not [bad for one in arrivals for bad in one.unreadable]
    sources = [result.trace.source for one in arrivals for result in one.results]
    return sources, [said for one in arrivals for said in one.remarks]


@pytest.mark.parametrize("ending", ENDINGS)
def test_each_trace_is_counted_once_and_it_is_said(folder, ending):
    before, _ = opened(folder)
    export(folder, folder / f"points{ending}")
    after, said = opened(folder)
    assert after == before
    words = f"points{ending}: 4 of its 4 traces were exported from files of this folder"
    assert any(words in one for one in said)


def test_a_table_made_of_a_subfolder_is_known_too(folder):
    before, _ = opened(folder)
    export(folder / "2020" / "CB1", folder / "part.csv")
    assert opened(folder)[0] == before


def test_a_site_file_takes_each_trace_once(folder, tmp_path):
    export(folder, folder / "points.csv")
    steps = list(import_steps(folder, tmp_path / "site.curvewright"))
    (outcome,) = [one.outcome for one in steps if one.outcome is not None]
    assert len(outcome.trace_ids) == 4
    assert any(
        "exported from files of this folder" in said for one in steps for said in one.remarks
    )


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_table_that_lies_alone_is_read(folder, tmp_path, ending):
    other = tmp_path / "other"
    other.mkdir()
    (other / "site.toml").write_bytes((folder / "site.toml").read_bytes())
    export(folder, other / f"points{ending}")
    sources, said = opened(other)
    assert len(sources) == 4
    assert not any("exported from" in one for one in said)


def test_only_what_is_there_already_is_left_out(folder):
    export(folder, folder / "points.csv")
    (folder / "2020" / "CB1" / "S1.csv").unlink()
    changed = folder / "2020" / "CB1" / "S2.csv"
    changed.write_text(changed.read_text().replace("note: invented", "note: invented, changed"))
    found = read_source(open_visit_folder(folder), "points.csv")
    kept = [one.source for one in found if isinstance(one, Trace)]
    assert kept == ["points.csv#2020/CB1/S1.csv", "points.csv#2020/CB1/S2.csv"]
    (left,) = [one for one in found if isinstance(one, NotATrace)]
    assert left.problem.startswith("points.csv: 2 of its 4 traces")
