"""What a scenario is: a fault, the knob that sets how bad it is, and what it does to a string."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log
from typing import Literal

Setting = Literal["severity", "extent"]


@dataclass(frozen=True)
class Knob:
    """A quantity a person may set: its label, unit and range, and whether it counts things."""

    label: str
    unit: str
    lowest: float
    highest: float
    start: float
    logarithmic: bool = False
    whole: bool = False

    def held(self, value: float) -> float:
        """The value brought into the range, and to a whole number if the knob counts."""
        inside = min(max(float(value), self.lowest), self.highest)
        return float(round(inside)) if self.whole else inside

    def at_share(self, share: float) -> float:
        """The value at a share 0..1 of the slider's travel."""
        if self.logarithmic:
            return self.held(self.lowest * (self.highest / self.lowest) ** share)
        return self.held(self.lowest + (self.highest - self.lowest) * share)

    def share_of(self, value: float) -> float:
        """The share 0..1 of the slider's travel at which a value lies."""
        inside = min(max(float(value), self.lowest), self.highest)
        if self.highest <= self.lowest:
            return 0.0
        if self.logarithmic:
            return log(inside / self.lowest) / log(self.highest / self.lowest)
        return (inside - self.lowest) / (self.highest - self.lowest)


@dataclass(frozen=True)
class FromKnob:
    """A number an effect takes from a knob: its setting times a factor."""

    setting: Setting
    times: float = 1.0


Value = float | str | FromKnob


@dataclass(frozen=True)
class Effect:
    """One thing the fault does; `values` are the arguments of the effect named `kind`."""

    kind: str
    values: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True)
class TellingApart:
    """What four simple looks at the string in the field would show."""

    moves_with_sun: str = ""
    vanishes_when_cleaned: str = ""
    infrared: str = ""
    module_retest: str = ""


@dataclass(frozen=True)
class Scenario:
    """A fault that can be laid over any string; `cause` is its candidate cause, or none."""

    key: str
    name: str
    cause: str
    summary: str
    severity: Knob
    effects: tuple[Effect, ...]
    extent: Knob | None = None
    telling_apart: TellingApart = TellingApart()
    reasons: tuple[str, ...] = ()
    """What in the curve gives it away, one sentence each."""
