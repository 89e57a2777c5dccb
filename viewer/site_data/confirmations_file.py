"""Findings settled in the field for a visit folder: confirmations.toml beside site.toml."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomli_w

from viewer.site_data.whole_file import read_toml, write_whole

FILE_NAME = "confirmations.toml"
HEAD = (
    "# Findings that an engineer confirmed or corrected, with what was done about them.\n"
    "# Written beside site.toml because a visit folder has no site file to keep them in.\n\n"
)


class ConfirmationsFileError(ValueError):
    """A file of confirmations that cannot be used; the message is one sentence."""


def read_confirmations_file(folder: Path) -> list[dict[str, Any]]:
    """The records in order; none where there is no file. Raises ConfirmationsFileError."""
    path = folder / FILE_NAME
    if not path.is_file():
        return []
    table = read_toml(path, ConfirmationsFileError)
    records = table.get("confirmation", [])
    if not isinstance(records, list):
        raise ConfirmationsFileError(f"{path.name}: write each record as [[confirmation]].")
    for place, one in enumerate(records, start=1):
        texts = ("trace", "suggested", "confirmed")
        if not isinstance(one, dict) or not all(isinstance(one.get(k), str) for k in texts):
            raise ConfirmationsFileError(
                f"{path.name}, confirmation {place}: it needs trace, suggested and confirmed."
            )
    return records


def write_confirmations_file(folder: Path, records: Sequence[dict[str, Any]]) -> None:
    """Write them all. Values that are None are left out. Raises OSError."""
    path = folder / FILE_NAME
    tables = [{k: v for k, v in one.items() if v is not None} for one in records]
    write_whole(path, HEAD + tomli_w.dumps({"confirmation": tables}))
