"""Checks an evidence pack against its manifest and says in words what differs.

Nothing is unpacked onto the disk. A pack may come from anyone: names that lead elsewhere,
entries that are links, that occur twice or that unpack to more than their manifest says are
findings, not work.
"""

import hashlib
import json
import lzma
import stat
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from viewer.reports.evidence_pack import FORMAT, MANIFEST, VERSION, is_inside

LARGEST_MANIFEST = 64 * 2**20
BLOCK = 2**20
_DAMAGE = (zipfile.BadZipFile, NotImplementedError, zlib.error, lzma.LZMAError)
"""What unpacking raises for damaged entries and for methods that Python does not know."""


class PackError(ValueError):
    """A file that is no pack; the message is one sentence."""


@dataclass(frozen=True)
class PackCheck:
    """What a pack says of itself and every difference found, one sentence each."""

    site: str
    report: str
    printed_on: str
    program: str
    count: int
    manifest_sha256: str
    differences: tuple[str, ...]


def check_pack(path: Path) -> PackCheck:
    """Compare every file of the pack with the manifest. Raises PackError."""
    try:
        with zipfile.ZipFile(path) as archive:
            return _checked(path, archive)
    except OSError as error:
        raise PackError(f"{path} cannot be read: {error.strerror or error}.") from None
    except zipfile.BadZipFile:
        raise PackError(f"{path.name} is not a ZIP file, or its end is missing.") from None


def _checked(path: Path, archive: zipfile.ZipFile) -> PackCheck:
    content = _manifest_bytes(path, archive)
    table = _manifest(path, content)
    files: dict[str, dict[str, Any]] = {one["name"]: one for one in table["files"]}
    differences: list[str] = []
    seen: set[str] = set()
    for entry in archive.infolist():
        if entry.filename == MANIFEST and entry.filename not in seen:
            seen.add(MANIFEST)
            continue
        differences += _entry_faults(archive, entry, files.get(entry.filename), seen)
        seen.add(entry.filename)
    differences += [
        f"{name}: the manifest names it, but the pack lacks it."
        for name in files
        if name not in seen
    ]
    return PackCheck(
        str(table.get("site", "")),
        str(table.get("report", "")),
        str(table.get("printed_on", "")),
        str(table.get("program", "")),
        len(files),
        hashlib.sha256(content).hexdigest(),
        tuple(differences),
    )


def _manifest_bytes(path: Path, archive: zipfile.ZipFile) -> bytes:
    try:
        entry = archive.getinfo(MANIFEST)
    except KeyError:
        raise PackError(f"{path.name} has no {MANIFEST}: it is not an evidence pack.") from None
    content, problem = _unpacked(archive, entry, LARGEST_MANIFEST)
    if problem:
        raise PackError(f"{path.name}: its {MANIFEST} {problem}.")
    return content


def _manifest(path: Path, content: bytes) -> dict[str, Any]:
    try:
        table = json.loads(content)
    except (ValueError, RecursionError):
        raise PackError(f"{path.name}: its {MANIFEST} is not valid JSON.") from None
    if not isinstance(table, dict) or table.get("format") != FORMAT:
        raise PackError(f"{path.name} is not an evidence pack of Curvewright.")
    if table.get("version") != VERSION:
        raise PackError(
            f"{path.name}: it is of version {table.get('version')!r}, this program checks "
            f"version {VERSION}; use the program that made it."
        )
    files = table.get("files")
    if not isinstance(files, list) or not all(_is_complete(one) for one in files):
        raise PackError(f"{path.name}: its {MANIFEST} does not list the files as it should.")
    return table


def _is_complete(one: Any) -> bool:
    return (
        isinstance(one, dict)
        and isinstance(one.get("name"), str)
        and isinstance(one.get("sha256"), str)
        and type(one.get("size")) is int
        and one["size"] >= 0
    )


def _entry_faults(
    archive: zipfile.ZipFile, entry: zipfile.ZipInfo, listed: dict[str, Any] | None, seen: set[str]
) -> list[str]:
    name = entry.filename
    if name in seen:
        return [f"{name}: it is in the pack twice."]
    if not is_inside(name):
        return [f"{name}: the name leads out of the folder in which a pack is unpacked."]
    if stat.S_ISLNK(entry.external_attr >> 16):
        return [f"{name}: it is a link, not a file."]
    if listed is None:
        return [f"{name}: it is in the pack, but the manifest does not name it."]
    content, problem = _unpacked(archive, entry, int(listed["size"]))
    if problem:
        return [f"{name}: it {problem}."]
    if len(content) != listed["size"]:
        return [f"{name}: it has {len(content)} bytes, the manifest says {listed['size']}."]
    if hashlib.sha256(content).hexdigest() != listed["sha256"].lower():
        return [f"{name}: its content was changed: the SHA-256 is not that of the manifest."]
    return []


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> tuple[bytes, str]:
    """The content, read no further than `most` bytes, or what is wrong with it."""
    if entry.flag_bits & 1:
        return b"", "is encrypted"
    made = bytearray()
    try:
        with archive.open(entry) as stream:
            while block := stream.read(min(BLOCK, most + 1 - len(made))):
                made += block
                if len(made) > most:
                    return b"", f"is larger than the {most} bytes it should have"
    except (*_DAMAGE, ValueError, OSError, EOFError) as error:
        return b"", f"cannot be unpacked ({error or type(error).__name__})"
    return bytes(made), ""
