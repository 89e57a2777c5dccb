"""The imported files out of a site file again, byte for byte, as a visit folder."""

from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.stored_bytes import read_bytes
from viewer.site_data.site_toml import FILE_NAME, site_toml_text
from viewer.site_data.whole_file import write_whole

_QUERY = """
    SELECT DISTINCT import_id, source, file_sha256 FROM current_traces
    WHERE file_sha256 IS NOT NULL
    UNION
    SELECT import_id, source, file_sha256 FROM unread_files
    JOIN imports ON imports.id = import_id WHERE hidden = 0 AND file_sha256 IS NOT NULL
    ORDER BY 1, 2
"""


def restore_files(site_file: SiteFile, folder: Path) -> Iterator[Path]:
    """Write every file of the shown traces into a new or empty folder, with its site.toml.

    Yields each path once written. Files of one name from several imports go to a subfolder
    for the later ones. Raises SiteFileError with one sentence.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise SiteFileError(f"{folder}: it is not empty; name a new folder.")
    for inside, digest in imported_files(site_file).items():
        yield _write(folder / inside, read_bytes(site_file, digest))
    yield _write(folder / FILE_NAME, site_toml_text(read_layout(site_file)).encode())


def imported_files(site_file: SiteFile) -> dict[PurePosixPath, str]:
    """Path and SHA-256 of every file of the shown traces, each once; see `restore_files`."""
    return dict(placed_files(site_file).values())


def placed_files(site_file: SiteFile) -> dict[tuple[int, str], tuple[PurePosixPath, str]]:
    """Path and SHA-256 of each file, by its import and its name there; see `restore_files`."""
    with site_file.reading() as connection:
        rows = connection.execute(_QUERY).fetchall()
    found: dict[PurePosixPath, str] = {}
    placed: dict[tuple[int, str], tuple[PurePosixPath, str]] = {}
    for import_id, source, digest in rows:
        name = source.partition("#")[0]
        inside = _inside(site_file, name)
        if found.get(inside, digest) != digest:
            inside = PurePosixPath(f"import-{import_id}") / inside
        found.setdefault(inside, digest)
        placed[import_id, name] = inside, found[inside]
    return placed


def restored_sources(site_file: SiteFile) -> dict[int, str]:
    """By the id of each shown trace, its source in the folder that `restore_files` writes."""
    placed = placed_files(site_file)
    with site_file.reading() as connection:
        rows = connection.execute("SELECT id, import_id, source FROM current_traces").fetchall()
    found: dict[int, str] = {}
    for number, import_id, source in rows:
        name, mark, part = source.partition("#")
        if (import_id, name) in placed:
            found[number] = f"{placed[import_id, name][0].as_posix()}{mark}{part}"
    return found


def _inside(site_file: SiteFile, source: str) -> PurePosixPath:
    """The path below the folder; one that would lead out of it is refused."""
    path = PurePosixPath(source)
    if path.is_absolute() or ".." in path.parts or "\\" in source or ":" in source or not path.name:
        raise SiteFileError(
            f"{site_file.path.name}: the file name {source} leads out of the folder; "
            "it was not written."
        )
    return path


def _write(path: Path, content: bytes) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, content)
    except OSError as error:
        raise SiteFileError(f"{path}: it could not be written: {error.strerror}.") from error
    return path
