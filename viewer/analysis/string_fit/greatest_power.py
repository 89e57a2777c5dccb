"""The greatest power of reduced strings: what each yields, and what it would with other numbers."""

from dataclasses import dataclass

import numpy as np

from viewer.analysis.string_fit.reduced_string import Array, Reference, stair_count
from viewer.analysis.string_fit.string_curves import Strings, maximum_power
from viewer.analysis.string_fit.taking_turns import Asked

MOST_ROWS = 32


@dataclass(frozen=True, eq=False)
class PowerAsked(Asked[float]):
    """The greatest power [W] of the string `vector` with the share `present` of its groups left."""

    reference: Reference
    vector: Array
    present: float

    @property
    def kind(self) -> tuple[str, int]:
        return "power", stair_count(self.vector)

    def together(self) -> "GreatestPowers":
        return GreatestPowers()


class GreatestPowers:
    """Strings with equally many stairs; all that are under way end with the next turns."""

    def __init__(self) -> None:
        self._asked: list[tuple[int, PowerAsked]] = []

    def __len__(self) -> int:
        return len(self._asked)

    def add(self, ticket: int, asked: PowerAsked) -> None:
        self._asked.append((ticket, asked))

    def turn(self) -> list[tuple[int, float]]:
        now, self._asked = self._asked[:MOST_ROWS], self._asked[MOST_ROWS:]
        strings = Strings.room_for(len(now))
        for row, (_, one) in enumerate(now):
            strings.put(row, one.reference, one.present)
        powers = maximum_power(strings, np.array([one.vector for _, one in now]))[0]
        return [
            (ticket, float(power) * one.reference.current_unit * one.reference.voltage_unit)
            for (ticket, one), power in zip(now, powers, strict=True)
        ]
