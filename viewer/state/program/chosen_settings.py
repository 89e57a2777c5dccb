"""What a command computes with: the built-in values unless a settings file is named.

The window's own settings are never taken unasked, so that a command gives the same result on every
computer; what was taken is told with the result.
"""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from viewer.analysis.comparison import AnalysisInputs
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.state.program.assumptions import GROUPS, OFF, Assumption, Record, as_table
from viewer.state.program.settings import settings_of_file

BUILT_IN = "built-in values; the window's own settings are not used (--settings FILE gives others)"


@dataclass(frozen=True)
class ChosenSettings:
    """`file` is None where none was named; options may have changed the inputs further."""

    inputs: AnalysisInputs = field(default_factory=AnalysisInputs)
    file: Path | None = None

    @property
    def uncertainties(self) -> InputUncertainties:
        return self.inputs.uncertainties

    def with_uncertainties(self, uncertainties: InputUncertainties) -> "ChosenSettings":
        return replace(self, inputs=replace(self.inputs, uncertainties=uncertainties))

    def differing(self) -> dict[str, Any]:
        """What differs from the built-in values, as a settings file holds it."""
        usual = AnalysisInputs()
        found: dict[str, Any] = {
            group: as_table(group, getattr(self.inputs, group))
            for group in GROUPS
            if getattr(self.inputs, group) != getattr(usual, group)
        }
        if self.inputs.procedure != usual.procedure:
            found["translation_procedure"] = self.inputs.procedure
        return found

    def changed_limits(self) -> tuple[tuple[str, str, str], ...]:
        """Thresholds of the condition checks that are others: name, built-in and used value."""
        used, usual = self.inputs.thresholds, AnalysisInputs().thresholds
        changed = self.differing().get("thresholds", {})
        return tuple(
            (
                one.title,
                _value(one, getattr(usual, one.name)),
                _value(one, getattr(used, one.name)),
            )
            for one in GROUPS["thresholds"]
            if one.name in changed
        )

    def as_data(self) -> dict[str, Any]:
        """For the JSON of a command."""
        return {"file": None if self.file is None else str(self.file), **self.differing()}

    def in_words(self) -> str:
        """One line for the end of a table."""
        changes = [
            _words(one, getattr(self.inputs, group))
            for group, assumptions in GROUPS.items()
            for one in assumptions
            if one.name in self.differing().get(group, {})
        ]
        if self.inputs.procedure != AnalysisInputs().procedure:
            changes.append(f"procedure {self.inputs.procedure}")
        if self.file is not None:
            told = "; ".join(changes) or "none"
            return f"Settings of {self.file.name}, other than the built-in values: {told}."
        if changes:
            return f"Settings: built-in values, but for {'; '.join(changes)}."
        return f"Settings: {BUILT_IN}."


def chosen_settings(file: Path | None) -> ChosenSettings:
    """The settings of a file, or the built-in ones. Raises ValueError with one sentence."""
    if file is None:
        return ChosenSettings()
    return ChosenSettings(settings_of_file(file).analysis_inputs, file)


def _words(one: Assumption, record: Record) -> str:
    value = getattr(record, one.name)
    level = " (k = 1)" if isinstance(record, InputUncertainties) else ""
    return f"{one.title} {_value(one, value)}" + ("" if value is None else level)


def _value(one: Assumption, value: float | None) -> str:
    return OFF if value is None else f"{value * one.scale:g} {one.unit}".rstrip()
