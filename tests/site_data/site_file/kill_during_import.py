"""Kill a process that imports, again and again, and see that nothing it reported is lost.

Run as `python -m tests.site_data.site_file.kill_during_import 200` for the long form.
"""

import random
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.site_data.site_file.example_data import LAYOUT, imported, some_traces
from viewer.site_data.site_file.connection import open_or_create, open_site_file
from viewer.site_data.site_file.importing import import_files

TRACES_AN_IMPORT = 20


@dataclass(frozen=True)
class Tally:
    """What was seen over all kills."""

    kills: int
    imports_reported: int
    imports_found: int
    killed_inside_an_import: int
    """Kills after which an import had been begun but neither reported nor found."""


def say(line: str) -> None:
    """One line on standard output, at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def import_for_ever(path: Path, first: int) -> None:
    """Import small batches without end, reporting each one on standard output once stored."""
    with open_or_create(path) as site_file:
        batch = first
        while True:
            traces = some_traces(TRACES_AN_IMPORT, batch * TRACES_AN_IMPORT, f"batch_{batch}")
            say(f"begin {batch}")
            import_files(
                site_file, LAYOUT, imported(traces), folder=f"batch_{batch}", program_version="1"
            )
            say(f"stored {batch}")
            batch += 1


def kill_once(path: Path, first: int, after: float) -> tuple[set[int], set[int]]:
    """Kill such a process `after` seconds into its work; the batches begun and reported."""
    command = [sys.executable, "-m", __spec__.name, "--import", str(path), str(first)]
    root = Path(__file__).parents[3]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=root) as process:
        assert process.stdout is not None
        opening = process.stdout.readline()
        time.sleep(after)
        process.kill()
        lines = (opening + process.stdout.read()).splitlines()
    words = [line.split() for line in lines if line.count(" ") == 1]
    begun = {int(number) for word, number in words if word == "begin"}
    return begun, {int(number) for word, number in words if word == "stored"}


def check(path: Path, reported: set[int]) -> set[int]:
    """The batches found in the file, each whole; fails when a reported one is missing."""
    with open_site_file(path) as site_file:
        assert site_file.faults() == []
        with site_file.reading() as connection:
            rows = connection.execute(
                "SELECT folder, count(traces.id), sum(point_count), "
                "count(DISTINCT file_sha256), count(conditions.trace_id) "
                "FROM imports LEFT JOIN traces ON import_id = imports.id "
                "LEFT JOIN trace_points ON trace_points.trace_id = traces.id "
                "LEFT JOIN conditions ON conditions.trace_id = traces.id GROUP BY imports.id"
            ).fetchall()
            entries = connection.execute("SELECT count(*) FROM journal").fetchone()[0]
    whole = (TRACES_AN_IMPORT, TRACES_AN_IMPORT * 40, TRACES_AN_IMPORT, TRACES_AN_IMPORT)
    for folder, *counts in rows:
        assert tuple(counts) == whole, f"{folder} was stored in part: {counts}"
    found = {int(folder.removeprefix("batch_")) for folder, *_ in rows}
    assert len(found) == len(rows) == entries
    assert reported <= found, f"reported as stored and lost: {sorted(reported - found)}"
    return found


def run(kills: int, folder: Path, seed: int = 7) -> Tally:
    """Kill that many times at random moments, all on one file; raises AssertionError on loss."""
    moments = random.Random(seed)
    path = folder / "field.curvewright"
    reported: set[int] = set()
    found: set[int] = set()
    inside = 0
    for _ in range(kills):
        begun, stored = kill_once(path, max(found, default=-1) + 1, moments.uniform(0.0, 0.12))
        reported |= stored
        found = check(path, reported)
        inside += bool(begun - found)
    return Tally(kills, len(reported), len(found), inside)


if __name__ == "__main__":
    if sys.argv[1] == "--import":
        import_for_ever(Path(sys.argv[2]), int(sys.argv[3]))
    with tempfile.TemporaryDirectory() as name:
        say(str(run(int(sys.argv[1]), Path(name))))
