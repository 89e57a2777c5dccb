"""What people enter for a report, as a TOML file (resources/templates/report.toml is a start)."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from viewer.site_data.whole_file import read_toml


class DetailsError(ValueError):
    """A details file that cannot be used; the message is one sentence."""


@dataclass(frozen=True)
class EnteredRepair:
    """What was done to one string, as entered."""

    combiner: str
    string: str
    done_on: str
    action: str
    parts: str = ""
    by: str = ""


@dataclass(frozen=True)
class EnteredDetails:
    """`values` by the names of the template; `repairs` of its [[repair]] tables."""

    values: dict[str, Any]
    repairs: tuple[EnteredRepair, ...]


_KINDS: dict[str, type] = {
    "title": str,
    "client": str,
    "tester": str,
    "qualification": str,
    "weather": str,
    "sensor": str,
    "next_inspection": str,
    "remarks": str,
    "logo": str,
    "language": str,
    "decimal_comma": bool,
    "plots": bool,
    "strings": list,
    "instruments": list,
    "texts": dict,
}
_WORDS = {str: "text", bool: "true or false", list: "a list of texts", dict: "a table of texts"}
_REPAIR_KEYS = ("combiner", "string", "done_on", "action", "parts", "by")


def read_details(path: Path) -> EnteredDetails:
    """The entries of the file. Raises DetailsError naming the key that is wrong."""
    table = read_toml(path, DetailsError)
    return details_from_table(table, path.name, path.parent)


def details_from_table(table: Mapping[str, Any], name: str, folder: Path) -> EnteredDetails:
    """The entries of a table as the file holds it; `name` is what errors call it.

    A logo's path is relative to `folder`. Raises DetailsError naming the key that is wrong.
    """
    repairs = table.get("repair", [])
    if not isinstance(repairs, list):
        raise DetailsError(f"{name}: repair must be written [[repair]], a table for each.")
    values = {key: _checked(name, key, value) for key, value in table.items() if key != "repair"}
    if values.get("logo"):
        values["logo"] = folder / values["logo"]
        if not values["logo"].is_file():
            raise DetailsError(f"{name}: there is no logo at {values['logo']}.")
    else:
        values.pop("logo", None)
    return EnteredDetails(values, tuple(_repair(name, k, one) for k, one in enumerate(repairs)))


def _checked(name: str, key: str, value: Any) -> Any:
    if key not in _KINDS:
        known = ", ".join(_KINDS)
        raise DetailsError(f"{name}: there is no key {key}; the keys are {known} and repair.")
    kind = _KINDS[key]
    inside: tuple[Any, ...] = ()
    if isinstance(value, list):
        inside = tuple(value)
    elif isinstance(value, dict):
        inside = tuple(value.values())
    if not isinstance(value, kind) or not all(isinstance(one, str) for one in inside):
        raise DetailsError(f"{name}: {key} must be {_WORDS[kind]}, not {value!r}.")
    return inside if isinstance(value, list) else value


def _repair(name: str, place: int, table: Any) -> EnteredRepair:
    where = f"{name}, repair {place + 1}"
    if not isinstance(table, dict) or not all(isinstance(x, str) for x in table.values()):
        raise DetailsError(f"{where}: it must be a table of texts.")
    unknown = [key for key in table if key not in _REPAIR_KEYS]
    lacking = [key for key in _REPAIR_KEYS[:4] if key not in table]
    if unknown or lacking:
        wrong = f"there is no key {unknown[0]}" if unknown else f"{lacking[0]} is missing"
        raise DetailsError(f"{where}: {wrong}; the keys are {', '.join(_REPAIR_KEYS)}.")
    return EnteredRepair(**table)
