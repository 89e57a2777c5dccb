"""The files of a site as they were imported, byte for byte, from a folder or a site file."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from viewer.site_data.site_file.connection import looks_like_site_file, open_site_file
from viewer.site_data.site_file.layout_rows import read_layout
from viewer.site_data.site_file.restoring import imported_files
from viewer.site_data.site_file.stored_bytes import read_bytes
from viewer.site_data.site_toml import FILE_NAME, site_toml_text


def raw_files(path: Path, sources: Sequence[str]) -> Iterator[tuple[str, bytes]]:
    """(path in the folder, bytes) of every file behind the sources, and of the site's own TOML.

    A site file knows its files itself, `sources` are those of a folder. Raises OSError, and
    SiteFileError with one sentence.
    """
    if path.is_file() and looks_like_site_file(path):
        yield from _from_site_file(path)
    else:
        yield from _from_folder(path, sources)


def _from_site_file(path: Path) -> Iterator[tuple[str, bytes]]:
    with open_site_file(path) as site_file:
        yield FILE_NAME, site_toml_text(read_layout(site_file)).encode()
        for name, digest in imported_files(site_file).items():
            if name.as_posix() != FILE_NAME:
                yield name.as_posix(), read_bytes(site_file, digest)


def _from_folder(folder: Path, sources: Sequence[str]) -> Iterator[tuple[str, bytes]]:
    own = [one.name for one in sorted(folder.glob("*.toml"))]
    names = dict.fromkeys([*own, *(_file_of(folder, source) for source in sources)])
    for name in names:
        yield name, (folder / name).read_bytes()


def _file_of(folder: Path, source: str) -> str:
    """The file of a source: a trace of several in one file is named after "#"."""
    return source if (folder / source).is_file() else source.rpartition("#")[0] or source
