"""Which strings to trace this year: a stratified sample, repeatable from its seed.

Every string has a permanent random number made from the seed and its names, so the plan does
not depend on the order of the layout and a new string changes nothing for the others
(permanent random numbers: E. Ohlsson, in Business Survey Methods, 1995, from memory). Part of
the sample is a panel that stays the same over the years, which is what a change is best
measured on; the rest rotates, so that every string is seen in time.
"""

import hashlib
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor

from viewer.site_data.site_layout import SiteLayout

USUAL_SHARE = 0.10
"""Share of the strings traced a year: common practice, no source."""

PANEL_SHARE = 0.5
"""Share of the sample that stays: common practice, no source."""

PANEL, ROTATION, SUSPECT = "panel", "rotation", "suspect"
Place = tuple[str, str]
Stratum = tuple[str, str]


@dataclass(frozen=True)
class PlannedString:
    """One string to trace and why: PANEL, ROTATION or SUSPECT."""

    combiner: str
    string: str
    module_type: str
    reason: str

    @property
    def place(self) -> Place:
        return self.combiner, self.string


@dataclass(frozen=True)
class SamplePlan:
    """The strings in walking order: combiner by combiner as the layout lists them.

    Suspects are traced too, but a rate for the site must be taken from the others alone.
    """

    strings: tuple[PlannedString, ...]
    population: int
    seed: int

    @property
    def sampled(self) -> tuple[PlannedString, ...]:
        """Panel and rotation: those that stand for the site."""
        return tuple(one for one in self.strings if one.reason != SUSPECT)


def plan_sample(
    layout: SiteLayout,
    *,
    share: float = USUAL_SHARE,
    panel_share: float = PANEL_SHARE,
    traced: Mapping[Place, Sequence[int]] | None = None,
    suspects: Collection[Place] = (),
    seed: int = 1,
) -> SamplePlan:
    """A sample of about `share` of the strings, spread over combiners and module types.

    traced: for each string the visits (rising numbers) it was traced on; strings traced most
    often come first into the panel, those not traced for longest into the rotation. In each,
    every combiner and every stratum (combiner and module type) gets its proportional number,
    rounded up or down; each module type gets at least one string. Raises ValueError for shares
    outside 0..1.
    """
    if not 0 < share <= 1 or not 0 <= panel_share <= 1:
        raise ValueError("the share of strings must lie above 0 and up to 1, the panel's from 0")
    strings = _strings(layout)
    history = traced or {}
    number = {place: permanent_number(seed, place) for place in strings}
    count = min(len(strings), max(1, round(share * len(strings))))
    by_use = sorted(strings, key=lambda place: (-len(history.get(place, ())), number[place]))
    panel = _pick(by_use, strings, round(panel_share * count))
    by_age = sorted(
        (place for place in strings if place not in panel),
        key=lambda place: (max(history.get(place, ()), default=-1), number[place]),
    )
    rotation = _pick(by_age, strings, count - len(panel))
    reasons = dict.fromkeys(panel, PANEL) | dict.fromkeys(rotation, ROTATION)
    reasons |= dict.fromkeys(_missing_types(strings, reasons, number), ROTATION)
    for place in suspects:
        if place in strings:
            reasons.setdefault(place, SUSPECT)
    planned = tuple(
        PlannedString(*place, strings[place][1], reasons[place])
        for place in strings
        if place in reasons
    )
    return SamplePlan(planned, len(strings), seed)


def permanent_number(seed: int, place: Place) -> float:
    """The string's random number, 0 to below 1; the same on every computer and for ever."""
    text = "\n".join([str(seed), *place])
    head = hashlib.sha256(text.encode()).digest()[:8]
    return int.from_bytes(head, "big") / 2**64


def _strings(layout: SiteLayout) -> dict[Place, Stratum]:
    """Every string in walking order, with its combiner and module type."""
    return {
        (box.name, one.name): (box.name, one.module)
        for box in layout.combiners
        for one in box.strings
    }


def _pick(
    ordered: Sequence[Place], strata: Mapping[Place, Stratum], count: int
) -> dict[Place, None]:
    """`count` places in the order given, spread in proportion over strata and combiners.

    First every stratum is filled up to the whole number below its share, then every combiner,
    then both up to the whole number above, and what is still missing comes from anywhere.
    """
    share = count / len(strata) if strata else 0.0
    expected = Counter(strata.values()) + Counter((box, "") for box, _ in strata.values())
    filled: Counter[Stratum] = Counter()
    picked: dict[Place, None] = {}
    for limits in ((_below, None), (_above, _below), (_above, _above), (None, None)):
        for place in ordered:
            if len(picked) >= count:
                return picked
            stratum = strata[place]
            levels = (stratum, (stratum[0], ""))
            if place not in picked and all(
                limit is None or filled[level] < limit(share * expected[level])
                for level, limit in zip(levels, limits, strict=True)
            ):
                picked[place] = None
                filled.update(levels)
    return picked


def _below(number: float) -> int:
    return floor(number + 1e-9)


def _above(number: float) -> int:
    return ceil(number - 1e-9)


def _missing_types(
    strings: Mapping[Place, Stratum],
    chosen: Mapping[Place, str],
    number: Mapping[Place, float],
) -> list[Place]:
    """For each module type that has no string in the sample, the one with the lowest number."""
    have = {strings[place][1] for place in chosen}
    lowest: dict[str, Place] = {}
    for place in sorted(strings, key=lambda one: number[one]):
        lowest.setdefault(strings[place][1], place)
    return [place for kind, place in lowest.items() if kind not in have]
