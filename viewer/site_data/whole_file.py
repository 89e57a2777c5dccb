"""Files of ours that are never half written, and TOML read with one sentence of complaint."""

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from errno import ENOENT
from pathlib import Path
from typing import Any


class UnwrittenError(OSError):
    """A file that could not be written; printed as one sentence."""

    def __str__(self) -> str:
        return f"{self.filename} could not be written: {self.strerror}."


@contextmanager
def drafted(path: Path) -> Iterator[Path]:
    """The path of a draft, which takes the place of `path` when the block has ended.

    When anything goes wrong no draft is left, and what was at `path` stays as it was. What is no
    usual file, such as a pipe, is written in place. Raises UnwrittenError, told of `path`.
    """
    if not path.parent.is_dir():
        raise UnwrittenError(ENOENT, f"there is no folder {path.parent}", str(path))
    in_place = path.exists() and not path.is_file() and not path.is_dir()
    draft = path if in_place else path.with_name(path.name + ".new")
    try:
        yield draft
        if not in_place:
            draft.replace(path)
    except OSError as error:
        if error.filename not in (None, str(draft), draft):
            raise  # of what was to be read, not of what was to be written
        why = error.strerror or str(error)
        raise UnwrittenError(error.errno, why, str(path)) from None
    finally:
        if not in_place and draft.is_file():
            draft.unlink()


def write_whole(path: Path, content: str | bytes) -> None:
    """Write in one move: the new file is complete before it takes the old one's place.

    Text is written as UTF-8. Raises UnwrittenError.
    """
    with drafted(path) as draft:
        draft.write_bytes(content.encode() if isinstance(content, str) else content)


def read_toml(path: Path, error: type[ValueError] = ValueError) -> dict[str, Any]:
    """The table that a TOML file holds. Raises `error` with one sentence."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as problem:
        raise error(f"{path} cannot be read: {problem.strerror}.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise error(f"{path} is not valid TOML: {problem}.") from None
    except RecursionError:
        raise error(f"{path} nests tables too deeply to be one of ours.") from None
