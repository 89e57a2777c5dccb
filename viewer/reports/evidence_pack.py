"""An evidence pack: one ZIP whose manifest names every file in it with its SHA-256.

The same content gives the same bytes: entries are sorted and carry the printed date. Anyone
can check the files without this program, by `sha256sum -c SHA256SUMS` in the unpacked folder.
"""

import hashlib
import json
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from viewer import __version__
from viewer.site_data.whole_file import drafted

FORMAT = "curvewright evidence pack"
VERSION = 1
MANIFEST = "manifest.json"
SUMS = "SHA256SUMS"
RAW = "raw/"
"""Folder of the files as imported."""


@dataclass(frozen=True)
class PackFile:
    """One file of a pack by its name in it, with forward slashes."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Packed:
    """What a finished pack is known by: how many files, and the SHA-256 of its manifest."""

    count: int
    manifest_sha256: str


def write_pack(
    target: Path, site: str, kind: str, printed_on: date, files: Iterable[PackFile]
) -> Iterator[PackFile | Packed]:
    """Write the ZIP, yielding each file once it is in and `Packed` at the end.

    When the iteration is given up nothing is left. Raises OSError, and ValueError for a name
    that occurs twice or leads out of the pack.
    """
    listed: dict[str, dict[str, str | int]] = {}
    with drafted(target) as made, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for one in files:
            if one.name in listed or not is_inside(one.name):
                raise ValueError(f"the pack cannot hold a file named {one.name}.")
            listed[one.name] = _entry(one)
            _put(archive, one, printed_on)
            yield one
        sums = "".join(f"{e['sha256']}  {e['name']}\n" for e in listed.values())
        extra = PackFile(SUMS, sums.encode())
        listed[SUMS] = _entry(extra)
        manifest = _manifest(site, kind, printed_on, list(listed.values()))
        for one in (extra, manifest):
            _put(archive, one, printed_on)
    yield Packed(len(listed), hashlib.sha256(manifest.content).hexdigest())


def is_inside(name: str) -> bool:
    """Whether a name stays below the folder in which a pack is unpacked, on any system."""
    parts = name.split("/")
    wrong = name.startswith("/") or "\\" in name or ":" in name or "\0" in name
    return bool(name) and not wrong and not any(part in ("", ".", "..") for part in parts)


def _entry(one: PackFile) -> dict[str, str | int]:
    digest = hashlib.sha256(one.content).hexdigest()
    return {"name": one.name, "size": len(one.content), "sha256": digest}


def _manifest(
    site: str, kind: str, printed_on: date, listed: list[dict[str, str | int]]
) -> PackFile:
    table = {
        "format": FORMAT,
        "version": VERSION,
        "program": f"Curvewright {__version__}",
        "site": site,
        "report": kind,
        "printed_on": printed_on.isoformat(),
        "files": listed,
    }
    return PackFile(MANIFEST, (json.dumps(table, ensure_ascii=False, indent=1) + "\n").encode())


def _put(archive: zipfile.ZipFile, one: PackFile, day: date) -> None:
    entry = zipfile.ZipInfo(one.name, (max(1980, day.year), day.month, day.day, 0, 0, 0))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    archive.writestr(entry, one.content)
