"""What people drew on the plots of a visit folder: plot_marks.toml beside site.toml."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomli_w

from viewer.site_data.whole_file import read_toml, write_whole

FILE_NAME = "plot_marks.toml"


class MarksFileError(ValueError):
    """A file of marks that cannot be used; the message is one sentence."""


def read_marks_file(folder: Path) -> list[tuple[str, dict[str, Any]]]:
    """(source of the trace, mark) in order; none where there is no file. Raises MarksFileError."""
    path = folder / FILE_NAME
    if not path.is_file():
        return []
    table = read_toml(path, MarksFileError)
    found: list[tuple[str, dict[str, Any]]] = []
    for place, one in enumerate(table.get("mark", ()), start=1):
        if not isinstance(one, dict) or not isinstance(one.get("trace"), str):
            raise MarksFileError(f"{path.name}, mark {place}: it does not name its trace.")
        found.append((one["trace"], {key: one[key] for key in one if key != "trace"}))
    return found


def write_marks_file(folder: Path, marks: Sequence[tuple[str, dict[str, Any]]]) -> None:
    """Write them all, or take the file away when there are none. Raises OSError."""
    path = folder / FILE_NAME
    if not marks:
        path.unlink(missing_ok=True)
        return
    tables = [{"trace": source, **mark} for source, mark in marks]
    write_whole(path, tomli_w.dumps({"mark": tables}))
