"""What can be wrong with an invented string, and random cases of it.

Sizes are ours to choose; they run from what a good crew would just notice to plain failures.
"""

from dataclasses import dataclass, field, replace

import numpy as np

CAUSES_IN_TURN: tuple[str, ...] = (
    "none",
    "soiling",
    "shading",
    "cell_fault",
    "bypass_short",
    "module_missing",
    "none",
    "series_resistance",
    "shunt",
    "module_mismatch",
    "degradation",
    "irradiance_input",
    "temperature_input",
    "none",
    "soiling+shading",
    "series_resistance+shading",
    "bypass_short+soiling",
    "series_resistance+soiling",
    "shading",
    "bypass_short+shading",
)


SOUND_SPREAD = 0.005


@dataclass(frozen=True)
class Limited:
    """Groups whose photocurrent is limited: `groups` of them to `fraction` of the current.

    cells 0 means every cell of the group; halves 1 means only one of the two paths of a
    half-cut group.
    """

    groups: int
    fraction: float
    cells: int = 0
    halves: int = 2


@dataclass(frozen=True)
class Case:
    number: int
    name: str
    causes: tuple[str, ...]
    modules: int
    parallel_paths: int
    poa_global: float
    temperature: float
    poa_read: float
    temperature_read: float
    noise: float
    points: int
    spacing: str
    limited: tuple[Limited, ...] = ()
    shorted_groups: int = 0
    missing_modules: int = 0
    current_loss: float = 0.0
    voltage_loss: float = 0.0
    series_share: float = 0.0
    """Extra series resistance as a share of v_oc / i_sc of the whole string."""
    shunt_share: float = 0.0
    """Current lost at 0.8 v_oc through the extra shunt, as a share of i_sc."""
    shunt_modules: int = 0
    spread: float = SOUND_SPREAD
    """Standard deviation of the modules' currents."""
    voltage_spread: float = 0.003
    bypass_drop: float = 0.5
    breakdown: float = 0.0
    """Reverse breakdown voltage of limited cells; 0 for none."""
    stairs: tuple[tuple[int, float], ...] = field(default=())
    """Truth: groups and the fraction of the string's current of each stair."""


def draw_case(number: int, cause: str, rng: np.random.Generator) -> Case:
    """One random case of that cause (causes joined by + for several at once)."""
    poa = rng.uniform(500, 1100)
    temperature = rng.uniform(15, 30) + poa * rng.uniform(0.015, 0.035)
    case = Case(
        number=number,
        name=f"S{number:04d}",
        causes=tuple(cause.split("+")),
        modules=int(rng.choice([1, 2, 4, 8, 10, 12, 16, 18, 20, 22, 24, 26, 28, 30, 32])),
        parallel_paths=int(rng.choice([1, 2])),
        poa_global=poa,
        temperature=temperature,
        poa_read=poa * (1 + reading_error(rng, 0.025)),
        temperature_read=temperature + reading_error(rng, 1.5),
        noise=rng.uniform(0.001, 0.005),
        points=int(np.exp(rng.uniform(np.log(50), np.log(400)))),
        spacing=str(rng.choice(["even", "arc"])),
        bypass_drop=rng.uniform(0.35, 0.65),
        breakdown=float(rng.choice([0.0, rng.uniform(15, 30)])),
    )
    for one in case.causes:
        case = FAULTS[one](case, rng)
    return case


def without_faults(case: Case) -> Case:
    """The sound twin of a case: same modules and conditions."""
    return replace(
        case,
        limited=(),
        shorted_groups=0,
        modules=case.modules,
        missing_modules=0,
        current_loss=0.0,
        voltage_loss=0.0,
        series_share=0.0,
        shunt_share=0.0,
        shunt_modules=0,
        spread=min(case.spread, SOUND_SPREAD),
    )


def reading_error(rng: np.random.Generator, limit: float) -> float:
    """An error of a calibrated sensor: bell-shaped, its limit at two standard deviations."""
    return float(np.clip(rng.normal(0, limit / 2), -1.25 * limit, 1.25 * limit))


def soiling(case: Case, rng: np.random.Generator) -> Case:
    return replace(case, current_loss=rng.uniform(0.07, 0.30))


def shading(case: Case, rng: np.random.Generator) -> Case:
    groups = 3 * case.modules
    most = max(1, min(12, groups // 3))
    halves = 1 if case.parallel_paths == 2 and rng.random() < 0.4 else 2
    if rng.random() < 0.35 and groups >= 6:
        fractions = np.sort(rng.uniform(0.1, 0.85, 2))
        if fractions[1] - fractions[0] < 0.12:
            fractions[1] = fractions[0] + 0.12
    else:
        fractions = np.array([rng.uniform(0.1, 0.85)])
    counts = [int(rng.integers(1, max(2, most // len(fractions)) + 1)) for _ in fractions]
    if groups <= 3:
        counts = [int(rng.integers(1, 3))]
        fractions = fractions[:1]
    cells = int(rng.choice([0, 0, 3]))
    limited = tuple(
        Limited(n, float(f), cells, halves) for n, f in zip(counts, fractions, strict=True)
    )
    return replace(case, limited=case.limited + limited)


def cell_fault(case: Case, rng: np.random.Generator) -> Case:
    halves = 1 if case.parallel_paths == 2 else 2
    one = Limited(1, float(rng.choice([0.0, rng.uniform(0.1, 0.8)])), 1, halves)
    return replace(case, limited=(*case.limited, one))


def bypass_short(case: Case, rng: np.random.Generator) -> Case:
    most = 1 if case.modules < 3 else 3
    return replace(case, shorted_groups=int(rng.integers(1, most + 1)))


def module_missing(case: Case, rng: np.random.Generator) -> Case:
    modules = max(case.modules, 4)
    most = 1 if modules < 10 else 2
    return replace(case, modules=modules, missing_modules=int(rng.integers(1, most + 1)))


def series_resistance(case: Case, rng: np.random.Generator) -> Case:
    return replace(case, series_share=rng.uniform(0.03, 0.12))


def shunt(case: Case, rng: np.random.Generator) -> Case:
    everywhere = rng.random() < 0.6
    modules = case.modules if everywhere else max(1, case.modules // 5)
    share = rng.uniform(0.05, 0.2) if everywhere else rng.uniform(0.15, 0.5)
    return replace(case, shunt_modules=modules, shunt_share=share)


def module_mismatch(case: Case, rng: np.random.Generator) -> Case:
    return replace(case, modules=max(case.modules, 8), spread=rng.uniform(0.025, 0.07))


def degradation(case: Case, rng: np.random.Generator) -> Case:
    return replace(
        case,
        current_loss=rng.uniform(0.06, 0.15),
        voltage_loss=rng.uniform(0.0, 0.03),
        series_share=rng.uniform(0.0, 0.02),
    )


def irradiance_input(case: Case, rng: np.random.Generator) -> Case:
    error = rng.choice([-1, 1]) * rng.uniform(0.08, 0.25)
    return replace(case, poa_read=case.poa_read * (1 + error))


def temperature_input(case: Case, rng: np.random.Generator) -> Case:
    error = rng.choice([-1, 1]) * rng.uniform(8, 20)
    return replace(case, temperature_read=case.temperature_read + error)


def none(case: Case, rng: np.random.Generator) -> Case:
    return case


FAULTS = {
    "soiling": soiling,
    "shading": shading,
    "cell_fault": cell_fault,
    "bypass_short": bypass_short,
    "module_missing": module_missing,
    "series_resistance": series_resistance,
    "shunt": shunt,
    "module_mismatch": module_mismatch,
    "degradation": degradation,
    "irradiance_input": irradiance_input,
    "temperature_input": temperature_input,
    "none": none,
}
