"""Whether the values of a datasheet can be right, in words."""

from collections.abc import Callable
from dataclasses import dataclass

from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.site_data.datasheet import TECHNOLOGIES, Datasheet

HIGHEST_BETA = -0.19
"""%/K; 8 of the 21,535 modules of pvlib's CEC list lie above -0.2. A value in V/K of a module of 60
or 72 cells, -0.11 to -0.15, does."""


@dataclass(frozen=True)
class _Check:
    """A relation that must hold (`fatal`) or nearly always does, and the sentence if not."""

    fatal: bool
    holds: Callable[[Datasheet], bool]
    sentence: Callable[[Datasheet], str]


def errors(datasheet: Datasheet) -> tuple[str, ...]:
    """What makes the values impossible, one sentence each; none if a model can be fitted."""
    return _broken(datasheet, fatal=True)


def doubts(datasheet: Datasheet) -> tuple[str, ...]:
    """What makes the values unlikely, one sentence each; such a datasheet is still used."""
    return () if errors(datasheet) else _broken(datasheet, fatal=False)


def _broken(datasheet: Datasheet, *, fatal: bool) -> tuple[str, ...]:
    return tuple(
        check.sentence(datasheet)
        for check in _CHECKS
        if check.fatal is fatal and not check.holds(datasheet)
    )


def _cell_voltage(d: Datasheet) -> float:
    return d.v_oc / d.cells_in_series if d.cells_in_series > 0 else 0.0


def _cell_voltage_range(d: Datasheet) -> tuple[float, float]:
    return TECHNOLOGY_TABLE[d.technology].voltage_per_cell


def _cell_voltage_sentence(d: Datasheet) -> str:
    low, high = _cell_voltage_range(d)
    text = (
        f"v_oc over cells_in_series is {_cell_voltage(d):.2f} V a cell, "
        f"usual for {d.technology} is {low:.2f} to {high:.2f} V"
    )
    if 2 * _cell_voltage(d) >= low > _cell_voltage(d):
        return (
            f"{text}; for a half-cut module give the cells along one series path "
            "and parallel_paths = 2."
        )
    return f"{text}; check both."


def _fill_factor(d: Datasheet) -> float:
    return d.p_mp / (d.i_sc * d.v_oc) if d.i_sc * d.v_oc > 0 else 0.0


_CHECKS = (
    *(
        _Check(
            True,
            lambda d, name=name: getattr(d, name) > 0,  # type: ignore[misc]
            lambda d, name=name, unit=unit: (  # type: ignore[misc]
                f"{name} is {getattr(d, name):g}; it must be above 0 {unit}."
            ),
        )
        for name, unit in (("i_sc", "A"), ("v_oc", "V"), ("i_mp", "A"), ("v_mp", "V"))
    ),
    _Check(
        True,
        lambda d: d.i_mp < d.i_sc,
        lambda d: f"i_mp ({d.i_mp:g} A) must be below i_sc ({d.i_sc:g} A); are they exchanged?",
    ),
    _Check(
        True,
        lambda d: d.v_mp < d.v_oc,
        lambda d: f"v_mp ({d.v_mp:g} V) must be below v_oc ({d.v_oc:g} V); are they exchanged?",
    ),
    _Check(
        True,
        lambda d: d.technology in TECHNOLOGIES,
        lambda d: (
            f"technology '{d.technology}' is not one of the known ones: {', '.join(TECHNOLOGIES)}."
        ),
    ),
    *(
        _Check(
            True,
            lambda d, name=name: getattr(d, name) >= 1,  # type: ignore[misc]
            lambda d, name=name: (  # type: ignore[misc]
                f"{name} is {getattr(d, name)}; it must be a whole number of at least 1."
            ),
        )
        for name in ("cells_in_series", "parallel_paths")
    ),
    _Check(
        True,
        lambda d: d.bypass_diodes >= 0,
        lambda d: f"bypass_diodes is {d.bypass_diodes}; it cannot be below 0.",
    ),
    _Check(
        True,
        lambda d: 0 <= d.bifaciality <= 1,
        lambda d: (
            f"bifaciality is {d.bifaciality:g}; it is a fraction from 0 to 1, such as 0.7 for 70 %."
        ),
    ),
    _Check(
        False,
        lambda d: _cell_voltage_range(d)[0] <= _cell_voltage(d) <= _cell_voltage_range(d)[1],
        _cell_voltage_sentence,
    ),
    _Check(
        False,
        lambda d: 0.4 <= _fill_factor(d) <= 0.87,
        lambda d: (
            f"the fill factor from i_mp, v_mp, i_sc and v_oc is {_fill_factor(d):.2f}, outside "
            "0.40 to 0.87; check the four values."
        ),
    ),
    _Check(
        False,
        lambda d: -0.15 <= d.alpha_sc <= 0.3,
        lambda d: (
            f"alpha_sc is {d.alpha_sc:g} %/K, usual is 0 to 0.15 %/K; "
            "a value in A/K must be divided by i_sc and multiplied by 100."
        ),
    ),
    _Check(
        False,
        lambda d: -0.6 <= d.beta_voc <= HIGHEST_BETA,
        lambda d: (
            f"beta_voc is {d.beta_voc:g} %/K, usual is -0.2 to -0.4 %/K; a value in V/K must be "
            "divided by v_oc and multiplied by 100, and the sign is minus."
        ),
    ),
    _Check(
        False,
        lambda d: -0.75 <= d.gamma_pmp <= -0.1,
        lambda d: (
            f"gamma_pmp is {d.gamma_pmp:g} %/K, usual is -0.2 to -0.5 %/K, with a minus sign."
        ),
    ),
)
