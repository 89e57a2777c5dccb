"""Signatures as records with one sentence each; the numbers come from the reader."""

import math
from collections.abc import Sequence

from viewer.analysis.results.trace_result import Signature
from viewer.analysis.signatures.signature_reading import StairReading
from viewer.analysis.signatures.voltage_reading import VoltageReading
from viewer.physics.nomenclature import counted

TOO_FAR_READ = 30.0
"""No temperature reading is believed to be farther off, K: a sensor that came off its module reads
the air, which is as much colder in full sun (judgement)."""
NEAR_A_WHOLE = 2.0
"""Standard deviations within which an excess of voltage is that of whole modules."""
TOO_FAR = "That is too much for a temperature reading: check the number of modules listed."


def power(watt: float, of: float) -> str:
    """For instance "310 W of 9.8 kW"; without what it is of where that is not known."""
    return f"{_watt(watt)} of {_watt(of)}" if math.isfinite(of) else _watt(watt)


def _watt(watt: float) -> str:
    if watt < 0.5:
        return "less than 1 W"
    return f"{watt / 1000.0:.1f} kW" if watt >= 2000.0 else f"{watt:.0f} W"


def spelled(number: int, one: str) -> str:
    """A number of things, few of them spelled out: "two bypass groups", "21 bypass groups"."""
    words = ("no", "one", "two", "three", "four", "five", "six")
    number_word, thing = counted(number, one).split(" ", 1)
    return f"{words[number] if number < len(words) else number_word} {thing}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def likely(counts: tuple[int, int] | None, told: int) -> str:
    """The range that a count is told with, in words; nothing where the count is certain."""
    if counts is None or counts == (told, told):
        return ""
    fewest, most = counts
    return f" (likely {fewest} {'or' if most == fewest + 1 else 'to'} {most})"


def _fewest_and_most(counts: tuple[int, int] | None, told: int) -> dict[str, int]:
    fewest, most = counts or (told, told)
    return {"bypass_groups_fewest": fewest, "bypass_groups_most": most}


def half_path(fraction: float, parallel_paths: int) -> str:
    """What one path of a half-cut module would be limited to, if only one is, in words."""
    own = 1.0 - parallel_paths * (1.0 - fraction)
    if parallel_paths < 2 or own < -0.02:
        return ""
    which = "half" if parallel_paths == 2 else f"of its {parallel_paths} paths"
    return f" If only one {which} of each is limited, it is to {max(own, 0.0):.2f}."


def step(
    fraction: float,
    span: float,
    groups: int,
    loss: float,
    of: float,
    parallel_paths: int = 1,
    likely_groups: tuple[int, int] | None = None,
) -> Signature:
    return Signature(
        "step",
        round(fraction, 4),
        "of i_sc",
        f"{capital(spelled(groups, 'bypass group'))}{likely(likely_groups, groups)} limited to "
        f"{fraction:.2f} of the string's current, {span:.0f} V wide, costs {power(loss, of)} at "
        "these conditions." + half_path(fraction, parallel_paths),
        {
            "current_fraction": round(fraction, 4),
            "voltage_span": round(span, 2),
            "bypass_groups": groups,
            **_fewest_and_most(likely_groups, groups),
            "loss": round(loss, 1),
        },
    )


def limited_modules(stairs: Sequence[StairReading], of: float, by_shape: bool = False) -> Signature:
    """All the steps of modules without bypass diodes as one: by the curve they cannot be counted.

    What they cost is not known of those that are read by the shape of the sweep.
    """
    fraction = min(one.current_fraction for one in stairs)
    span, loss = sum(one.voltage_span for one in stairs), sum(one.loss for one in stairs)
    details: dict[str, float | int | str] = {
        "current_fraction": round(fraction, 4),
        "voltage_span": round(span, 2),
    }
    end = "(from the shape of the sweep alone)"
    if not by_shape:
        details["loss"] = round(loss, 1)
        end = f"which costs {power(loss, of)} at these conditions"
    return Signature(
        "step",
        round(fraction, 4),
        "of i_sc",
        f"Modules are limited to {fraction:.2f} of the string's current or more, {span:.0f} V wide"
        f"{' ' if by_shape else ', '}{end}; how many cannot be told without bypass diodes.",
        details,
    )


def step_by_shape(fraction: float, span: float, groups: int) -> Signature:
    """A stair read without a prediction: what it costs is not known."""
    return Signature(
        "step",
        round(fraction, 4),
        "of i_sc",
        f"{capital(spelled(groups, 'bypass group'))} limited to {fraction:.2f} of the string's "
        f"current, {span:.0f} V wide (from the shape of the sweep alone).",
        {
            "current_fraction": round(fraction, 4),
            "voltage_span": round(span, 2),
            "bypass_groups": groups,
        },
    )


def low_current(lost: float, uncertainty: float, loss: float, of: float) -> Signature:
    return Signature(
        "low_current",
        round(lost, 4),
        "fraction",
        f"The current is {100 * lost:.1f} % (± {200 * uncertainty:.1f} %, k = 2) below the "
        f"prediction all along the curve, which costs {power(loss, of)}.",
        {"loss": round(loss, 1), "uncertainty": round(2 * uncertainty, 4)},
    )


def low_voltage(
    volts: float,
    reading: VoltageReading,
    groups: int,
    bypass_diodes: int,
    loss: float,
    of: float,
    part: str = "bypass group",
) -> Signature:
    """Of `groups` of a string's parts, whatever they are called, lost; 0 for none."""
    details: dict[str, int] = {}
    if groups:
        details = _fewest_and_most(reading.likely_groups, groups)
        whole, rest = divmod(groups, bypass_diodes)
        told = whole and not rest and part != "module"
        modules = f", the voltage of {spelled(whole, 'module')}" if told else ""
        range_ = likely(reading.likely_groups, groups)
        why = f", as {spelled(groups, part)}{range_} lost would take{modules}"
    elif reading.kelvin > TOO_FAR_READ:
        why = f", which is that of no whole number of {part}s"
    else:
        why = f", which warmer cells explain better than lost {part}s"
    return Signature(
        "low_voltage",
        round(volts, 2),
        "V",
        f"The voltage is {volts:.1f} V ({100 * reading.lost:.1f} %) below the prediction{why}; "
        f"it costs {power(loss, of)}.",
        {"bypass_groups": groups, **details, "loss": round(loss, 1)},
    )


def low_voltage_beside(
    volts: float,
    reading: VoltageReading,
    loss: float,
    of: float,
    part: str = "bypass group",
) -> Signature:
    """A voltage loss that shows only beside the neighbours."""
    lost = spelled(reading.groups, part)
    range_ = likely(reading.likely_groups, reading.groups)
    return Signature(
        "low_voltage",
        round(volts, 2),
        "V",
        f"The voltage is {volts:.1f} V ({100 * reading.lost:.1f} %) below that of the combiner's "
        f"other strings, as {lost}{range_} lost would take; it costs about {power(loss, of)}.",
        {
            "bypass_groups": reading.groups,
            **_fewest_and_most(reading.likely_groups, reading.groups),
            "loss": round(loss, 1),
        },
    )


def low_current_beside(lost: float, spread: float, loss: float, of: float) -> Signature:
    """A current that is low only beside the neighbours."""
    return Signature(
        "low_current",
        round(lost, 4),
        "fraction",
        f"The current is {100 * lost:.1f} % below that of the combiner's other strings, whose "
        f"spread is {100 * spread:.1f} %; it costs about {power(loss, of)}.",
        {"loss": round(loss, 1), "uncertainty": round(2 * spread, 4)},
    )


def slope_near_voc(ohm: float, uncertainty: float, loss: float, of: float) -> Signature:
    return Signature(
        "slope_near_voc",
        round(ohm, 3),
        "ohm",
        f"The curve falls less steeply towards open circuit: {ohm:.2f} ohm "
        f"(± {2 * uncertainty:.2f}, k = 2) more in series than predicted, which costs "
        f"{power(loss, of)}.",
        {"loss": round(loss, 1), "uncertainty": round(2 * uncertainty, 3)},
    )


def slope_near_isc(
    conductance: float,
    groups: int,
    share: float,
    loss: float,
    of: float,
    part: str = "bypass group",
) -> Signature:
    ohm = 1.0 / max(conductance, 1e-9)
    told = f"{ohm:.0f}" if ohm >= 10.0 else f"{ohm:.2g}"
    return Signature(
        "slope_near_isc",
        round(ohm, 2) if ohm >= 1.0 else float(f"{ohm:.2g}"),
        "ohm",
        f"The current falls with voltage from short circuit on, as a path of {told} ohm "
        f"parallel to {spelled(groups, part)} would make it; it costs "
        f"{power(loss, of)}.",
        {"loss": round(loss, 1), "bypass_groups": groups, "current_lost": round(share, 4)},
    )


def rounded_knee(spread: float, loss: float, of: float) -> Signature:
    return Signature(
        "rounded_knee",
        round(spread, 4),
        "fraction",
        f"The curve slopes to a rounded knee in many small steps, as modules whose currents "
        f"differ by {100 * spread:.1f} % (standard deviation) make it; it costs "
        f"{power(loss, of)}.",
        {"loss": round(loss, 1)},
    )


def weaker_modules(modules: int, lower: float, spread: float, loss: float, of: float) -> Signature:
    """Unequal modules of two kinds, of which one carries a little less."""
    carry = f"{spelled(modules, 'module')} {'carries' if modules == 1 else 'carry'}"
    return Signature(
        "rounded_knee",
        round(spread, 4),
        "fraction",
        f"About {carry} {100 * lower:.1f} % less current than the rest, as modules "
        f"of a lower power class do; it costs {power(loss, of)}.",
        {"loss": round(loss, 1)},
    )


def rounded_knee_by_shape(spread: float) -> Signature:
    """Unequal modules read without a prediction: what they cost is not known."""
    return Signature(
        "rounded_knee",
        round(spread, 4),
        "fraction",
        f"The curve slopes in many small steps, as modules whose currents differ by "
        f"{100 * spread:.1f} % (standard deviation) make it (from the shape of the sweep alone).",
    )


def wrong_irradiance(excess: float, uncertainty: float) -> Signature:
    return Signature(
        "inputs_suspect",
        round(100 * excess, 2),
        "%",
        f"The current is {100 * excess:.1f} % (± {200 * uncertainty:.1f} %, k = 2) above the "
        "prediction: the irradiance was read too low, or at another moment than the sweep.",
        {"input": "poa_global"},
    )


def wrong_temperature(reading: VoltageReading, modules: int = 0) -> Signature:
    """A voltage that another temperature explains; `modules` are listed in series, 0 if unknown."""
    kelvin = reading.kelvin
    word = "warmer" if kelvin > 0 else "colder"
    parts = [
        f"The open-circuit voltage fits cells {abs(kelvin):.1f} K {word} than the temperature "
        "that was used."
    ]
    more = -reading.lost * modules
    off = abs(more - round(more))
    details: dict[str, float | str] = {"input": "temperature_cell"}
    if round(more) >= 1 and off < NEAR_A_WHOLE * reading.uncertainty * modules:
        one_more = capital(spelled(round(more), "module"))
        parts.append(f"{one_more} more in series than listed would raise it as much.")
        details["modules_more"] = round(more)
    if abs(kelvin) > TOO_FAR_READ:
        parts.append(TOO_FAR)
    return Signature(
        "inputs_suspect",
        round(kelvin, 1),
        "K",
        " ".join(parts),
        details,
    )
