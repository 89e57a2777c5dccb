"""Values out of a parsed TOML table, each wrong one answered with a sentence naming its line."""

import difflib
import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from viewer.site_data.toml_lines import Place, line_of


@dataclass(frozen=True)
class Findings:
    """Collects sentences about one TOML file; `file` is how the file is named in them."""

    file: str
    lines: dict[Place, int]
    _problems: list[tuple[int, str]] = field(default_factory=list)
    _remarks: list[tuple[int, str]] = field(default_factory=list)

    def problem(self, place: Place, sentence: str) -> None:
        """Note what must be mended at that place."""
        self._problems.append((line_of(self.lines, place), sentence))

    def remark(self, place: Place, sentence: str) -> None:
        """Note what is worth knowing at that place."""
        self._remarks.append((line_of(self.lines, place), sentence))

    @property
    def problems(self) -> tuple[str, ...]:
        """All problems in order of their lines."""
        return self._in_order(self._problems)

    @property
    def remarks(self) -> tuple[str, ...]:
        """All remarks in order of their lines."""
        return self._in_order(self._remarks)

    def _in_order(self, noted: list[tuple[int, str]]) -> tuple[str, ...]:
        ordered = sorted(noted, key=lambda one: one[0])
        return tuple(f"{self.file}, line {line}: {sentence}" for line, sentence in ordered)


class Table:
    """A TOML table being read; `what` names it in sentences, such as "module 'X'"."""

    def __init__(self, data: object, place: Place, what: str, findings: Findings) -> None:
        self.place = place
        self.what = what
        self.findings = findings
        self.complete = True
        """False once a value was missing or wrong."""
        if isinstance(data, dict):
            self.data: dict[str, object] = data
        else:
            self.data = {}
            self._wrong(place, f"{what} must be a table of keys, not {_described(data)}.")

    def __contains__(self, key: str) -> bool:
        return key in self.data

    def check_keys(self, known: Iterable[str]) -> None:
        """A problem for each key that nobody will read, with the nearest known one."""
        known = tuple(known)
        for key in self.data:
            if key in known:
                continue
            near = difflib.get_close_matches(key, known, 1, 0.6)
            hint = f"did you mean {near[0]}?" if near else f"known are {', '.join(known)}."
            self.findings.problem(
                (*self.place, key), f"'{key}' is not a key of {self.what}; {hint}"
            )

    def number(self, key: str, unit: str, default: float | None = None) -> float:
        """A finite number; NaN after the problem was noted, `default` when the key is absent."""
        value = self._value(key, default, f"{key} = a number{' in ' + unit if unit else ''}")
        if value is None:
            return math.nan
        if isinstance(value, bool) or not isinstance(value, int | float) or not _finite(value):
            self._wrong(
                (*self.place, key),
                f"{key} of {self.what} is {_described(value)}; "
                f"write a plain number{' in ' + unit if unit else ''} without quotes or unit.",
            )
            return math.nan
        return float(value)

    def count(
        self, key: str, default: int | None = None, least: int = 1, most: int | None = None
    ) -> int:
        """A whole number of at least `least`, at most `most`; 0 after the problem was noted."""
        value = self._value(key, default, f"{key} = a whole number")
        if value is None:
            return 0
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if (
            isinstance(value, bool)
            or not isinstance(value, int)
            or value < least
            or (most is not None and value > most)
        ):
            bound = f"of at least {least}" if most is None else f"from {least} to {most}"
            self._wrong(
                (*self.place, key),
                f"{key} of {self.what} is {_described(value)}; write a whole number {bound}.",
            )
            return 0
        return value

    def flag(self, key: str, default: bool = False) -> bool:
        """true or false; `default` after the problem was noted."""
        value = self.data.get(key, default)
        if not isinstance(value, bool):
            self._wrong(
                (*self.place, key),
                f"{key} of {self.what} is {_described(value)}; write true or false.",
            )
            return default
        return value

    def within(self, key: str, low: float, high: float) -> None:
        """A problem if that number lies outside `low` to `high`."""
        value = self.data.get(key)
        if isinstance(value, int | float) and not low <= value <= high:
            self._wrong(
                (*self.place, key),
                f"{key} of {self.what} is {_described(value)}; it lies from {low:g} to {high:g}.",
            )

    def text(self, key: str, default: str | None = None) -> str:
        """A text that is not blank; "" after the problem was noted."""
        value = self._value(key, default, f'{key} = "..."')
        if value is None:
            return ""
        if isinstance(value, int) and not isinstance(value, bool):
            value = str(value)  # names such as 7 are often written without quotes
        if not isinstance(value, str) or (not value.strip() and value != default):
            self._wrong(
                (*self.place, key),
                f"{key} of {self.what} is {_described(value)}; write a text in quotes.",
            )
            return ""
        return value.strip()

    def rows(self, key: str) -> list[object]:
        """The elements of an array of tables; none if the key is absent."""
        value = self.data.get(key, [])
        if not isinstance(value, list):
            header = ".".join([*(str(p) for p in self.place if isinstance(p, str)), key])
            self._wrong(
                (*self.place, key),
                f"each {key} needs a header of its own in double brackets, [[{header}]].",
            )
            return []
        return value

    def _value(self, key: str, default: object, example: str) -> object | None:
        if key in self.data:
            return self.data[key]
        if default is None:
            self._wrong(self.place, f"{self.what} has no {key}; add the line {example}.")
        return default

    def _wrong(self, place: Place, sentence: str) -> None:
        self.complete = False
        self.findings.problem(place, sentence)


def _finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number too large for a float
        return False


def _described(value: object) -> str:
    if isinstance(value, str):
        return f"the text '{value[:40]}'" if value.strip() else "an empty text"
    if isinstance(value, bool):
        return f"the word {str(value).lower()}"
    if isinstance(value, int | float):
        return f"{value:g}" if _finite(value) else "not a finite number"
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else "a date or time"
