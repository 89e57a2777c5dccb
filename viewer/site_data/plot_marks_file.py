"""What people drew on the plots of a visit folder: plot_marks.toml beside site.toml."""

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomli_w

FILE_NAME = "plot_marks.toml"


class MarksFileError(ValueError):
    """A file of marks that cannot be used; the message is one sentence."""


def read_marks_file(folder: Path) -> list[tuple[str, dict[str, Any]]]:
    """(source of the trace, mark) in order; none where there is no file. Raises MarksFileError."""
    path = folder / FILE_NAME
    if not path.is_file():
        return []
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise MarksFileError(f"{path} cannot be read: {error.strerror}.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise MarksFileError(f"{path} is not valid TOML: {error}.") from None
    found: list[tuple[str, dict[str, Any]]] = []
    for place, one in enumerate(table.get("mark", ()), start=1):
        if not isinstance(one, dict) or not isinstance(one.get("trace"), str):
            raise MarksFileError(f"{path.name}, mark {place}: it does not name its trace.")
        found.append((one["trace"], {key: one[key] for key in one if key != "trace"}))
    return found


def write_marks_file(folder: Path, marks: Sequence[tuple[str, dict[str, Any]]]) -> None:
    """Write them all, or take the file away when there are none. Raises OSError.

    The new file is complete before it takes the old one's place.
    """
    path = folder / FILE_NAME
    if not marks:
        path.unlink(missing_ok=True)
        return
    made = path.with_name(path.name + ".new")
    tables = [{"trace": source, **mark} for source, mark in marks]
    made.write_text(tomli_w.dumps({"mark": tables}), encoding="utf-8")
    made.replace(path)
