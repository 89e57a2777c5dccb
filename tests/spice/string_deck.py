"""Writes a string of cells as a circuit and lets ngspice solve it.

Independent of the package: the demo site is computed with it, and the string physics is
checked against it. Cells that are alike and in series are lumped into one element (their
voltages add, so saturation current and photocurrent stay and everything in volts or ohms is
multiplied by the count); nothing else is simplified.
"""

import shutil
import subprocess
import tempfile
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# ngspice 39 computes its thermal voltage from these (CODATA 2014) at the circuit temperature.
THERMAL_VOLTAGE = 1.38064852e-23 * 300.15 / 1.6021766208e-19


def ngspice_path() -> str | None:
    """The ngspice program, or None where it is not installed."""
    return shutil.which("ngspice")


@dataclass(frozen=True)
class Cells:
    """`count` equal cells in series; every parameter is that of one cell [A, ohm, V]."""

    count: int
    photocurrent: float
    saturation_current: float
    resistance_series: float
    resistance_shunt: float
    n_vth: float
    breakdown_factor: float = 0.0
    breakdown_voltage: float = -15.0
    breakdown_exp: float = 3.0


@dataclass(frozen=True)
class Group:
    """Cells under one bypass diode: one path, or two in parallel in a half-cut module.

    `bypass` is "good", "short" or "open"; `repeat` such groups in series are lumped.
    """

    paths: tuple[tuple[Cells, ...], ...]
    bypass: str = "good"
    repeat: int = 1
    bypass_saturation_current: float = 1e-6
    bypass_n_vth: float = 0.0281
    bypass_resistance: float = 0.002
    short_resistance: float = 0.005


@dataclass
class _Deck:
    lines: list[str] = field(default_factory=list)
    number: int = 0

    def node(self) -> str:
        self.number += 1
        return f"n{self.number}"

    def name(self, letter: str) -> str:
        self.number += 1
        return f"{letter}{self.number}"

    def diode(self, anode: str, cathode: str, saturation_current: float, n_vth: float) -> None:
        model = self.name("m")
        self.lines.append(
            f".model {model} D(IS={saturation_current:.12g} N={n_vth / THERMAL_VOLTAGE:.12g})"
        )
        self.lines.append(f"{self.name('D')} {anode} {cathode} {model}")

    def resistor(self, a: str, b: str, ohm: float) -> None:
        self.lines.append(f"{self.name('R')} {a} {b} {ohm:.12g}")

    def cells(self, plus: str, minus: str, cells: Cells) -> None:
        inner = self.node()
        n = cells.count
        self.lines.append(f"{self.name('I')} {minus} {inner} DC {cells.photocurrent:.12g}")
        self.diode(inner, minus, cells.saturation_current, cells.n_vth * n)
        self.resistor(inner, minus, cells.resistance_shunt * n)
        if cells.breakdown_factor:
            v, ohm = f"V({inner},{minus})", cells.resistance_shunt * n
            base = f"max(1e-4, 1-({v})/({cells.breakdown_voltage * n:.12g}))"
            self.lines.append(
                f"{self.name('B')} {inner} {minus} I={cells.breakdown_factor:.12g}*{v}/{ohm:.12g}"
                f"*exp(-({cells.breakdown_exp:.12g})*ln({base}))"
            )
        self.resistor(inner, plus, cells.resistance_series * n)

    def group(self, plus: str, minus: str, group: Group) -> None:
        for path in group.paths:
            top = plus
            for place, cells in enumerate(path):
                last = place == len(path) - 1
                bottom = minus if last else self.node()
                self.cells(top, bottom, replace(cells, count=cells.count * group.repeat))
                top = bottom
        if group.bypass == "short":
            self.resistor(plus, minus, group.short_resistance * group.repeat)
        elif group.bypass == "good":
            middle = self.node()
            self.diode(
                minus, middle, group.bypass_saturation_current, group.bypass_n_vth * group.repeat
            )
            self.resistor(middle, plus, group.bypass_resistance * group.repeat)


def deck_text(
    groups: list[Group], resistance: float, stop: float, step: float, start: float, output: str
) -> str:
    """The circuit of groups in series behind `resistance` [ohm], swept from start to stop [V]."""
    deck = _Deck()
    top = "out"
    if resistance:
        top = deck.node()
        deck.resistor("out", top, resistance)
    for place, group in enumerate(groups):
        bottom = "0" if place == len(groups) - 1 else deck.node()
        deck.group(top, bottom, group)
        top = bottom
    return "\n".join(
        [
            "string of cells",
            *deck.lines,
            "Vsweep out 0 DC 0",
            ".options temp=27 tnom=27 reltol=1e-6 abstol=1e-10 vntol=1e-7 gmin=1e-14 itl1=1000",
            ".control",
            "set wr_singlescale",
            "set numdgt=10",
            f"dc Vsweep {start:.9g} {stop:.9g} {step:.9g}",
            f"wrdata {output} i(Vsweep)",
            "quit",
            ".endc",
            ".end",
            "",
        ]
    )


def sweep(
    groups: list[Group],
    stop: float,
    points: int = 200,
    resistance: float = 0.0,
    start: float = 0.0,
) -> tuple[Array, Array]:
    """Voltage [V] and current [A] of the string as ngspice solves it, start to stop."""
    program = ngspice_path()
    if program is None:
        raise FileNotFoundError("ngspice is not installed")
    with tempfile.TemporaryDirectory() as folder:
        output = Path(folder) / "curve.txt"
        deck = Path(folder) / "string.cir"
        step = (stop - start) / (points - 1)
        deck.write_text(deck_text(groups, resistance, stop + step / 4, step, start, str(output)))
        done = subprocess.run(
            [program, "-b", str(deck)], capture_output=True, text=True, timeout=120, check=False
        )
        if not output.exists():
            raise RuntimeError(f"ngspice gave no curve: {done.stderr or done.stdout}")
        table = np.loadtxt(output)
    return table[:, 0], table[:, 1]
