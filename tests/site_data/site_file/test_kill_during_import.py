"""A killed import leaves whole imports only; the long form kills 200 times."""

from pathlib import Path

from tests.site_data.site_file.kill_during_import import run


def test_nothing_reported_as_stored_is_lost(tmp_path: Path) -> None:
    tally = run(10, tmp_path)
    assert tally.kills == 10
    assert tally.imports_reported > 10
