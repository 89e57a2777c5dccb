"""What is true of a string: its causes, and the stairs that its curve must show."""

from typing import Any

import numpy as np

from tests.uneven_strings.faulty_string import Measured
from tests.uneven_strings.module_types import BYPASS_DIODES
from tests.uneven_strings.plan import PlannedString
from tests.uneven_strings.uneven_string import Group, UnevenString

NO_STAIR_ABOVE = 0.975
SAME_STAIR = 0.03
"""As shares of the untouched groups' current: limited less is none, closer together is one."""


def truth_of(name: str, file: str, planned: PlannedString, measured: Measured) -> dict[str, Any]:
    """One string's entry of truth.json: V, A, W/m², °C and shares."""
    faulty, sweep = measured.faulty, measured.sweep
    string = faulty.string
    return {
        "name": name,
        "file": file,
        "causes": planned.causes,
        "circumstances": planned.circumstances.name,
        "module": string.module.key,
        "library_name": str(string.module.row.name),
        "modules": string.count,
        "half_cut": string.module.half_cut,
        "poa_global": string.irradiance,
        "temperature_cell": string.temperature,
        "irradiance_error": faulty.irradiance_error,
        "temperature_error": faulty.temperature_error,
        "read_at_back": measured.at_back,
        "power_lost": faulty.power_lost,
        "power_lost_by": faulty.power_lost_by,
        "details": faulty.details,
        "stairs": stairs(string, measured.curve.groups),
        "lost_groups": int(string.shorted.sum() + string.missing.sum() * BYPASS_DIODES),
        "reverse_as_forward": string.reverse_as_forward,
        "i_sc": sweep.i_sc,
        "v_oc": sweep.v_oc,
        "points": sweep.voltage.size,
        "spacing": sweep.spacing,
        "noise": sweep.noise,
        "attempts": faulty.attempts,
    }


def stairs(string: UnevenString, groups: tuple[Group, ...]) -> list[dict[str, float]]:
    """Stairs by current: number of groups, and least, greatest and mean current [A].

    A stair runs from the photocurrent that its least cells allow to its groups' own
    short-circuit current, which is higher where those cells leak or break down.
    """
    conducting = [g for g in groups if not string.shorted[g.module, g.number]]
    untouched = [g.curve.i_sc for g in conducting if not string.is_limited(g.module, g.number)]
    usual = float(np.median(untouched) if untouched else max(g.curve.i_sc for g in groups))
    limited = sorted(
        (min(g.limit, g.curve.i_sc), g.curve.i_sc)
        for g in conducting
        if string.is_limited(g.module, g.number)
    )
    found: list[list[tuple[float, float]]] = []
    for low, high in limited:
        if low > NO_STAIR_ABOVE * usual:
            continue
        if found and low - found[-1][-1][0] < SAME_STAIR * usual:
            found[-1].append((low, high))
        else:
            found.append([(low, high)])
    return [
        {
            "groups": len(stair),
            "low": stair[0][0],
            "high": max(high for _, high in stair),
            "current": float(np.mean([low for low, _ in stair])),
        }
        for stair in found
    ]
