"""Texts printed in documents and shown in the window, one TOML file a language."""

import tomllib
from functools import cache
from typing import Any

from viewer.site_data.resource_folder import resource_folder


@cache
def texts(language: str = "en") -> dict[str, Any]:
    """The catalogue of that language, as nested tables. Raises ValueError for one not there."""
    folder = resource_folder() / "texts"
    file = folder / f"{language}.toml"
    if not file.is_file():
        known = ", ".join(sorted(path.stem for path in folder.glob("*.toml")))
        raise ValueError(f"there are no texts in language {language!r}: there is {known}")
    with file.open("rb") as stream:
        return tomllib.load(stream)
