"""What is open in the program, as a record that outlives a crash."""

import tomllib
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import tomli_w

from viewer.physics.nomenclature import counted
from viewer.site_data.whole_file import write_whole

SUFFIX = ".open.toml"


@dataclass(frozen=True)
class WhatWasOpen:
    """A site's folder or file, the visit shown ("" for all), and the traces by id."""

    folder: str
    visit: str = ""
    selected: tuple[str, ...] = ()
    current: str = ""
    pinned: tuple[str, ...] = ()

    def in_words(self) -> str:
        count = len(self.selected)
        chosen = f", {counted(count, 'trace')} selected" if count else ""
        return f"{self.folder}{chosen}"


def write_open(path: Path, record: WhatWasOpen) -> None:
    """Keep the record; the file is replaced in one move. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, tomli_w.dumps(asdict(record)))


def read_open(path: Path) -> WhatWasOpen | None:
    """The record in a file; None when it cannot be read, or its site is no longer there."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return None
    used: dict[str, str | tuple[str, ...]] = {}
    for one in fields(WhatWasOpen):
        value = table.get(one.name, "" if one.name == "folder" else one.default)
        if isinstance(one.default, tuple):
            used[one.name] = tuple(map(str, value)) if isinstance(value, list | tuple) else ()
        else:
            used[one.name] = str(value)
    record = WhatWasOpen(**used)  # type: ignore[arg-type]
    return record if record.folder and Path(record.folder).exists() else None
