"""Two programs writing to one site file at the same time lose nothing."""

import subprocess
import sys
from pathlib import Path

from tests.site_data.site_file.example_data import LAYOUT, imported, new_file, some_traces
from viewer.site_data.site_file.connection import create_site_file, open_site_file
from viewer.site_data.site_file.importing import import_files
from viewer.site_data.site_file.journal import operations

WRITER = """
import sys
from pathlib import Path
from tests.site_data.site_file.example_data import LAYOUT, imported, some_traces
from viewer.site_data.site_file.annotations import About, add_note
from viewer.site_data.site_file.connection import open_site_file
from viewer.site_data.site_file.importing import import_files

path, name = Path(sys.argv[1]), sys.argv[2]
for number in range(25):
    with open_site_file(path) as site_file:
        add_note(site_file, About(), f"{name} {number}", name)
        traces = some_traces(2, 1000 * (name == "b") + 2 * number, name)
        import_files(site_file, LAYOUT, imported(traces), folder=name, program_version="1")
"""


def test_two_writers_in_turn(tmp_path: Path) -> None:
    path = new_file(tmp_path)
    with create_site_file(path) as site_file:
        import_files(site_file, LAYOUT, imported(some_traces(1)), folder="f", program_version="1")
    root = Path(__file__).parents[3]
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(path), name], cwd=root)
        for name in ("a", "b")
    ]
    assert [writer.wait(timeout=60) for writer in writers] == [0, 0]
    with open_site_file(path) as site_file:
        assert site_file.faults() == []
        with site_file.reading() as connection:
            notes = connection.execute("SELECT author, count(*) FROM notes GROUP BY 1").fetchall()
            traces = connection.execute("SELECT count(*) FROM current_traces").fetchone()
        assert notes == [("a", 25), ("b", 25)]
        assert traces == (101,)
        assert len(operations(site_file)) == 101
