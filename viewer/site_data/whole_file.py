"""Small files of ours that are never half written, and TOML read with one sentence of complaint."""

import tomllib
from pathlib import Path
from typing import Any


def write_whole(path: Path, content: str | bytes) -> None:
    """Write in one move: the new file is complete before it takes the old one's place.

    Text is written as UTF-8. Raises OSError.
    """
    draft = path.with_name(path.name + ".new")
    draft.write_bytes(content.encode() if isinstance(content, str) else content)
    draft.replace(path)


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
