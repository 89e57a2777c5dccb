"""The numbers that the procedures of IEC 60891 need beside a curve."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from viewer.physics.distinct import distinct

Array = NDArray[np.float64]
Numeric = float | Array

BAND_GAP_VOLTAGE = 1.232
"""n Eg / q of one crystalline silicon cell, V.

Y. Hishikawa and others, IEEE J. Photovoltaics 8 (2018) 48-53: within their uncertainty all
crystalline silicon devices they measured follow this one value.
"""


@dataclass(frozen=True)
class InternalResistance:
    """Internal series resistance [ohm] and curve correction factor kappa [ohm/K] of a procedure.

    IEC 60891 finds each by making translated curves agree, so procedures 1 and 2 have their own.
    """

    resistance_series: Numeric
    kappa: Numeric

    def scaled(self, factor: Numeric) -> "InternalResistance":
        n = np.asarray(factor, dtype=float)
        return InternalResistance(self.resistance_series * n, self.kappa * n)

    def __getitem__(self, device: int) -> "InternalResistance":
        """That of one device of many, as numbers."""
        return InternalResistance(
            float(np.asarray(self.resistance_series)[device]), float(np.asarray(self.kappa)[device])
        )


@dataclass(frozen=True)
class Corrections:
    """Correction data of one device (or arrays over many), for its module, string or harness.

    i_sc [A] and v_oc [V] at STC; alpha_sc and beta_voc relative [1/K];
    `first` and `second` the internal resistances of procedures 1 and 2;
    resistance_series [ohm] the physical series resistance, used by procedure 4 and for the
    stretch of curve beyond Voc; b_1, b_2 the factors of Voc against the logarithm of irradiance,
    f(G) = b_2 ln²(1000/G) + b_1 ln(1000/G) + 1 = Voc(1000)/Voc(G), of procedure 2;
    cells_in_series and band_gap_voltage [V a cell] of procedure 4.
    """

    i_sc: Numeric
    v_oc: Numeric
    alpha_sc: Numeric
    beta_voc: Numeric
    first: InternalResistance
    second: InternalResistance
    resistance_series: Numeric
    b_1: Numeric
    b_2: Numeric
    cells_in_series: Numeric
    band_gap_voltage: Numeric = BAND_GAP_VOLTAGE
    source: str = ""
    """In words: where the internal resistance, kappa, b_1 and b_2 come from."""

    def __getitem__(self, device: int) -> "Corrections":
        """Those of one device of many, as numbers; every value must be an array (devices,)."""
        chosen = {name: float(np.asarray(getattr(self, name))[device]) for name in NUMBERS}
        return Corrections(
            **chosen, first=self.first[device], second=self.second[device], source=self.source
        )

    @classmethod
    def of_each(cls, many: Sequence["Corrections"]) -> "Corrections":
        """Those of many devices as one, (devices,): itself where all are the same one. At least
        one, each of a single device; `source` is the first's."""
        kinds, which = distinct(many)
        if len(kinds) == 1:
            return many[0]

        def column(part: Sequence[Corrections] | Sequence[InternalResistance], name: str) -> Array:
            return np.array([getattr(one, name) for one in part], dtype=float)[which]

        def both(part: Sequence[InternalResistance]) -> InternalResistance:
            return InternalResistance(column(part, "resistance_series"), column(part, "kappa"))

        return cls(
            **{name: column(kinds, name) for name in NUMBERS},
            first=both([one.first for one in kinds]),
            second=both([one.second for one in kinds]),
            source=many[0].source,
        )

    def in_series(self, count: Numeric) -> "Corrections":
        """Of `count` equal devices in series."""
        n = np.asarray(count, dtype=float)
        return replace(
            self,
            v_oc=self.v_oc * n,
            first=self.first.scaled(n),
            second=self.second.scaled(n),
            resistance_series=self.resistance_series * n,
            cells_in_series=self.cells_in_series * n,
        )

    def in_parallel(self, count: Numeric) -> "Corrections":
        """Of `count` equal devices in parallel."""
        n = np.asarray(count, dtype=float)
        return replace(
            self,
            i_sc=self.i_sc * n,
            first=self.first.scaled(1.0 / n),
            second=self.second.scaled(1.0 / n),
            resistance_series=self.resistance_series / n,
        )

    def with_extra_series(self, resistance: Numeric) -> "Corrections":
        """With `resistance` [ohm] of cable in series, which every procedure must see."""
        extra = np.asarray(resistance, dtype=float)
        return replace(
            self,
            first=replace(self.first, resistance_series=self.first.resistance_series + extra),
            second=replace(self.second, resistance_series=self.second.resistance_series + extra),
            resistance_series=self.resistance_series + extra,
        )


NUMBERS: tuple[str, ...] = tuple(
    field.name for field in fields(Corrections) if field.name not in ("first", "second", "source")
)
