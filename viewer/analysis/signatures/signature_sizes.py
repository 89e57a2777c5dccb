"""Sizes, significance and cost of the signatures that a fit of one sweep holds."""

import math
from collections.abc import Sequence

import numpy as np

from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_choice import LEAKING_GROUPS, MISMATCH, STAIRS, Choice
from viewer.analysis.signatures.signature_reading import SignatureReading, Situation, StairReading
from viewer.analysis.signatures.signature_words import (
    limited_modules,
    low_current,
    low_voltage,
    rounded_knee,
    slope_near_isc,
    slope_near_voc,
    step,
    weaker_modules,
    wrong_irradiance,
    wrong_temperature,
)
from viewer.analysis.signatures.stair_vectors import level_spread, without_stair
from viewer.analysis.signatures.usual_string import USUAL_LEAK
from viewer.analysis.signatures.voltage_reading import VoltageReading
from viewer.analysis.signatures.weaker_class import LEAST_CLASS, WeakerClass, weaker_class
from viewer.analysis.string_fit.greatest_power import PowerAsked
from viewer.analysis.string_fit.reduced_string import (
    CELLS,
    CURRENT,
    FRACTION,
    GROUPS,
    LEAK,
    SERIES,
    SHIFT,
    STAIR_LEAK,
    STRING_PARAMETERS,
    TABLE_VOLTAGES,
    Array,
    stair_place,
    stairs_of,
    start_vector,
)
from viewer.analysis.string_fit.taking_turns import side_by_side

LEAST_STAIR = 0.955
"""Groups limited less than to this fraction are the ordinary spread of modules."""
LEAST_STAIR_LOSS = 0.002
"""Stairs that cost less than this share of the power lie beyond the maximum and are not reported
(judgement)."""
LEAST_TOLD_SPREAD = 0.015
"""A smaller spread of the modules' currents (relative) is not reported: it costs hardly much."""
LEAST_CLASS_SPREAD, LEAST_CLASS_LOSS = 0.0125, 0.012
"""Groups less limited than LEAST_STAIR are told as weaker modules from this spread of currents and
this share of the power on: two neighbouring power classes in one string are no ordinary spread."""
LEAST_LEAK_LOSS = 0.008
"""Leaking groups that cost less than this share of the power are not reported."""
SPREAD_ON_MEAN = 0.4
"""How uncertain the mean current of unequal modules is, in their spread."""


class SignatureSizes:
    """Turns the fit of one sweep into a reading: what is significant, how large, what it costs."""

    def __init__(
        self,
        choice: Choice,
        voltage: VoltageReading,
        known: Situation,
        plateaus: Sequence[float],
    ) -> None:
        self.choice = choice
        self.reference = choice.problem.reference
        self.groups = choice.problem.groups
        self.fit = choice.fit
        self.vector = choice.fit.vector
        self.voltage = voltage
        self.plateaus = plateaus
        self.situation = known
        self.weaker = self._weaker_class()
        self.known = known.uncertainty
        given = known.predicted_p_mp
        self.predicted_p_mp = np.nan if given is None else given
        self.p_mp: float | None = None
        self.losses: dict[str, float] = {}
        self.signatures: list[Signature] = []

    def _power(self, vector: Array, present: float | None = None) -> PowerAsked:
        return PowerAsked(self.reference, vector, self.fit.present if present is None else present)

    async def _gain(self, vector: Array, present: float | None = None) -> float:
        """What the string would yield more, W, with the parameters `vector`."""
        return max(await self._power(vector, present) - await self._own_power(), 0.0)

    async def _own_power(self) -> float:
        if self.p_mp is None:
            self.p_mp = await self._power(self.vector)
        return self.p_mp

    async def reading(self) -> SignatureReading:
        if not np.isfinite(self.predicted_p_mp):
            self.predicted_p_mp = await self._power(start_vector(), 1.0)
        stairs = await self._steps()
        spread, mean = await self._mismatch()
        scale, scale_uncertainty = await self._current(mean, spread)
        await self._voltage()
        await self._series()
        await self._leak()
        return SignatureReading(
            signatures=tuple(self.signatures),
            bypass_groups=self.groups,
            current_scale=scale,
            current_uncertainty=scale_uncertainty,
            voltage=self.voltage,
            current_spread=spread,
            stairs=stairs,
            losses=self.losses,
            p_mp=await self._own_power() if self.signatures else self.situation.key_points.p_mp,
            predicted_p_mp=self.predicted_p_mp,
            roughness=self.fit.roughness,
            predicted_v_oc=self.reference.voltage_unit,
            bypass_diodes=self.situation.bypass_diodes,
            bypassed=self.situation.bypassed,
        )

    def _add(self, signature: Signature, loss: float) -> None:
        self.signatures.append(signature)
        self.losses[signature.kind] = self.losses.get(signature.kind, 0.0) + loss

    def _weaker_class(self) -> WeakerClass | None:
        """The class of modules that all stairs together stand for."""
        levels = stairs_of(self.vector)[:, FRACTION]
        hardly_limited = self.choice.explanation == STAIRS and bool((levels > LEAST_STAIR).all())
        if self.choice.explanation != MISMATCH and not hardly_limited:
            return None
        return weaker_class(self.fit, self.groups, self.situation.bypass_diodes)

    @property
    def _stair_of_class(self) -> WeakerClass | None:
        """The weaker class, if it is far enough below the rest to be told as a stair."""
        weaker = self.weaker
        return weaker if weaker and LEAST_CLASS <= weaker.level <= LEAST_STAIR else None

    async def _steps(self) -> tuple[StairReading, ...]:
        paths = self.situation.parallel_paths
        if self._stair_of_class is not None:
            readings = [await self._class(self._stair_of_class)]
            paths = 1  # all cells of a weaker module are alike, in both halves
        elif self.choice.explanation == STAIRS:
            levels = stairs_of(self.vector)[:, FRACTION]
            kept = [k for k in np.argsort(levels).tolist() if levels[k] <= LEAST_STAIR]
            found = await side_by_side(self._stair(k) for k in kept)
            readings = [one for one in found if one.loss >= LEAST_STAIR_LOSS * self.predicted_p_mp]
        else:
            return ()
        if readings and not self.situation.bypassed:
            loss = sum(one.loss for one in readings)
            self._add(limited_modules(readings, self.predicted_p_mp), loss)
            return tuple(readings)
        for one in readings:
            signature = step(
                one.current_fraction,
                one.voltage_span,
                one.bypass_groups,
                one.loss,
                self.predicted_p_mp,
                paths,
                one.likely_groups,
            )
            self._add(signature, one.loss)
        return tuple(readings)

    async def _class(self, weaker: WeakerClass) -> StairReading:
        diodes = self.situation.bypass_diodes
        fewest, most = weaker.likely_modules
        return StairReading(
            bypass_groups=weaker.modules * diodes,
            current_fraction=weaker.level * self._per_i_sc,
            voltage_span=self._span(weaker.share, weaker.level),
            limited_cells=1.0,
            loss=await self._gain(self._of_equal(weaker.share * (1.0 - weaker.level))),
            likely_groups=(fewest * diodes, most * diodes),
        )

    def _of_equal(self, missing: float) -> Array:
        """The string with modules that are all alike: as predicted, if only the weaker are not.

        `missing` is by how much less the mean module carries than the strongest.
        """
        equal = self.vector[:STRING_PARAMETERS].copy()
        strongest = float(equal[CURRENT])
        equal[CURRENT] = min(max(1.0, strongest * (1.0 - missing)), strongest)
        return equal

    @property
    def _per_i_sc(self) -> float:
        """The string's full current over its short-circuit current."""
        i_sc = self.situation.key_points.i_sc
        scale = float(self.vector[CURRENT]) * self.reference.current_unit
        return scale / i_sc if np.isfinite(i_sc) and i_sc > 0 else 1.0

    async def _stair(self, stair: int) -> StairReading:
        place = stair_place(stair, 0)
        share = float(self.vector[place + GROUPS])
        fraction = self.plateaus[stair]
        return StairReading(
            bypass_groups=max(1, round(share * self.groups)),
            current_fraction=fraction * self._per_i_sc,
            voltage_span=self._span(share, fraction),
            limited_cells=float(self.vector[place + CELLS]),
            loss=await self._gain(without_stair(self.vector, stair)),
            likely_groups=self.choice.likely_groups[stair],
        )

    def _span(self, share: float, fraction: float) -> float:
        """Voltage the stair takes [V]: the groups' own and their diodes' drop."""
        r = self.reference
        c = float(self.vector[CURRENT])
        net = c * (1.0 - fraction)
        own = float(np.interp(net, r.table, TABLE_VOLTAGES)) - r.series * c * fraction
        return share * (max(own, 0.0) + r.bypass_drop) * r.voltage_unit

    async def _mismatch(self) -> tuple[float, float]:
        """Spread of the groups' currents and their mean, both relative to the largest."""
        unequal = self.choice.explanation == MISMATCH
        if self._stair_of_class is not None or not (unequal or self.weaker):
            return 0.0, 1.0
        stairs = stairs_of(self.vector)
        missing = float(stairs[:, GROUPS] @ (1.0 - stairs[:, FRACTION])) / self.fit.present
        spread = level_spread(self.vector, self.fit.present)
        told = spread >= (LEAST_TOLD_SPREAD if unequal else LEAST_CLASS_SPREAD)
        loss = await self._gain(self._told_apart(missing, spread)) if told else 0.0
        if not unequal and loss < LEAST_CLASS_LOSS * self.predicted_p_mp:
            return 0.0, 1.0
        if told:
            self._add(self._unequal(spread, loss), loss)
        return spread, 1.0 - missing

    def _unequal(self, spread: float, loss: float) -> Signature:
        weaker, of = self.weaker, self.predicted_p_mp
        if weaker is None or not self.situation.bypassed:
            return rounded_knee(spread, loss, of)
        return weaker_modules(weaker.modules, 1.0 - weaker.level, spread, loss, of)

    def _told_apart(self, missing: float, unequal: float) -> Array:
        """The string of equal modules; those of the mean where their low current is told too."""
        equal = self._of_equal(missing)
        carried = float(self.vector[CURRENT]) * (1.0 - missing)
        if 1.0 - carried > self.known.coverage * self._current_uncertainty(unequal):
            equal[CURRENT] = carried
        return equal

    def _current_uncertainty(self, unequal: float) -> float:
        known = self.known
        return math.sqrt(
            known.irradiance**2
            + known.module_current**2
            + (SPREAD_ON_MEAN * unequal) ** 2
            + min(self.fit.uncertainty(CURRENT), 0.05) ** 2
        )

    async def _current(self, mean: float, unequal: float) -> tuple[float, float]:
        scale = float(self.vector[CURRENT]) * mean
        known, spread = self.known, self._current_uncertainty(unequal)
        lost = 1.0 - scale
        if lost > known.coverage * spread:
            whole = self.vector.copy()
            whole[CURRENT] /= scale
            loss = await self._gain(whole)
            self._add(low_current(lost, spread, loss, self.predicted_p_mp), loss)
        elif -lost > known.coverage * spread:
            self._add(wrong_irradiance(-lost, spread), 0.0)
        return scale, spread

    async def _voltage(self) -> None:
        v = self.voltage
        if not v.significant:
            return
        volts = v.lost * self.reference.voltage_unit
        likely_input = not v.groups_lead
        if v.lost > 0.0:
            whole = self.vector.copy()
            whole[SHIFT] = 0.0
            loss = await self._gain(whole, 1.0)
            groups = 0 if likely_input else v.groups
            diodes = self.situation.bypass_diodes
            part, of = self.situation.part, self.predicted_p_mp
            self._add(low_voltage(volts, v, groups, diodes, loss, of, part), loss)
        if v.lost < 0.0 or likely_input:
            modules = round(self.groups / self.situation.bypass_diodes)
            self._add(wrong_temperature(v, modules), 0.0)

    async def _series(self) -> None:
        vector, known = self.vector, self.known
        extra = self.choice.problem.usual.extra_series(vector)
        spread = math.hypot(known.series, min(self.fit.uncertainty(SERIES), 0.02))
        ohm = self.reference.ohm
        if extra > known.coverage * spread:
            without = vector.copy()
            without[SERIES] -= extra
            loss = await self._gain(without)
            self._add(slope_near_voc(extra * ohm, spread * ohm, loss, self.predicted_p_mp), loss)

    async def _leak(self) -> None:
        per_ohm = 1.0 / self.reference.ohm
        spread = math.hypot(self.known.leak, min(self.fit.uncertainty(LEAK), 0.03))
        extra = float(self.vector[LEAK]) - USUAL_LEAK
        everywhere = extra > self.known.coverage * spread
        if self.choice.explanation == LEAKING_GROUPS:
            told = await self._leaking_groups(per_ohm, extra if everywhere else 0.0)
            if told:
                return
        if everywhere and self.choice.explanation != MISMATCH:
            without = self.vector.copy()
            without[LEAK] = USUAL_LEAK
            loss = await self._gain(without)
            self._add(self._slope(extra * per_ohm, self.groups, extra, loss), loss)

    def _slope(self, conductance: float, groups: int, lost: float, loss: float) -> Signature:
        part = self.situation.part
        return slope_near_isc(conductance, groups, lost, loss, self.predicted_p_mp, part)

    async def _leaking_groups(self, per_ohm: float, everywhere: float) -> bool:
        """Whether the groups that leak are told; not when it costs hardly anything.

        `everywhere` is what all groups leak beside, in units.
        """
        groups_that_leak = stairs_of(self.vector)
        shares, leaks = groups_that_leak[:, GROUPS], groups_that_leak[:, STAIR_LEAK]
        share, leak = float(shares.sum()), float(shares @ leaks)
        without = self.vector[:STRING_PARAMETERS].copy()
        if everywhere > 0.0:
            without[LEAK] = USUAL_LEAK
            share, leak = self.fit.present, leak + everywhere * self.fit.present
        leak /= max(share, 1e-6)
        loss = await self._gain(without)
        if loss < LEAST_LEAK_LOSS * self.predicted_p_mp:
            return False
        groups = max(1, round(share * self.groups))
        # a part of the string has the conductance of the whole over its share
        own = leak * per_ohm / max(share, 1e-6)
        self._add(self._slope(own, groups, leak, loss), loss)
        return True
