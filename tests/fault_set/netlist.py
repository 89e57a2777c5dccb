"""A string with its faults as an ngspice netlist, and its curve."""

import subprocess
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

from tests.fault_set.faults import Case

SWEEP_POINTS = 600
BOLTZMANN_OVER_CHARGE = 8.617333262e-5  # V/K, CODATA 2018


@dataclass(frozen=True)
class Cell:
    """Parameters of one full cell (of one half of it times two for half-cut modules)."""

    photocurrent: float
    saturation_current: float
    resistance_series: float
    resistance_shunt: float
    thermal: float


def healthy_cell(module: pd.Series, case: Case) -> Cell:
    """One cell at the case's true conditions (CEC six-parameter model)."""
    p = pvlib.pvsystem.calcparams_cec(
        case.poa_global,
        case.temperature,
        float(module["alpha_sc"]),
        float(module["a_ref"]),
        float(module["I_L_ref"]),
        float(module["I_o_ref"]),
        float(module["R_sh_ref"]),
        float(module["R_s"]),
        float(module["Adjust"]),
    )
    photocurrent, saturation, series, shunt, thermal = (float(x) for x in p)
    n = int(module["N_s"])
    return Cell(photocurrent, saturation, series / n, shunt / n, thermal / n)


class Netlist:
    """Collects elements; every part goes between two node names."""

    def __init__(self, temperature: float) -> None:
        self.lines = ["* invented string"]
        self.count = 0
        self.thermal_voltage = BOLTZMANN_OVER_CHARGE * (temperature + 273.15)
        self.temperature = temperature

    def next(self) -> int:
        self.count += 1
        return self.count

    def cells(
        self, plus: str, minus: str, cell: Cell, number: int, share: float = 1.0,
        fraction: float = 1.0, shunt: float = 0.0, breakdown: float = 0.0,
    ) -> None:  # fmt: skip
        """`number` equal cells in series; `share` 0.5 for one path of a half-cut module."""
        k = self.next()
        inner = f"i{k}"
        emission = cell.thermal * number / self.thermal_voltage
        limit = f" BV={breakdown * number:.6g} IBV=1e-3" if breakdown else ""
        conductance = share / (cell.resistance_shunt * number) + shunt / number
        self.lines += [
            f"I{k} {minus} {inner} {cell.photocurrent * share * fraction:.9g}",
            f"D{k} {inner} {minus} M{k}",
            f".model M{k} D(IS={cell.saturation_current * share:.9g} N={emission:.9g}{limit})",
            f"R{k} {inner} {minus} {1 / conductance:.9g}",
            f"RS{k} {inner} {plus} {cell.resistance_series * number / share:.9g}",
        ]

    def bypass(self, plus: str, minus: str, drop: float, number: int) -> None:
        """`number` diodes in series, each with that drop at 10 A (emission coefficient 1.1)."""
        k = self.next()
        saturation = 10.0 / np.expm1(drop / (1.1 * self.thermal_voltage))
        self.lines += [
            f"D{k} {minus} {plus} M{k}",
            f".model M{k} D(IS={saturation:.9g} N={1.1 * number:.9g})",
        ]

    def resistor(self, plus: str, minus: str, ohm: float) -> None:
        self.lines.append(f"RX{self.next()} {plus} {minus} {ohm:.9g}")

    def solve(self, top: str, v_max: float) -> tuple[np.ndarray, np.ndarray]:
        step = v_max / SWEEP_POINTS
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / "curve.txt"
            text = [
                *self.lines,
                f"VS {top} 0 0",
                f".options temp={self.temperature:.9g} tnom={self.temperature:.9g} "
                "gmin=1e-13 reltol=1e-5",
                ".control",
                f"dc VS 0 {v_max:.9g} {step:.9g}",
                f"wrdata {out} i(vs)",
                ".endc",
                ".end",
            ]
            path = Path(folder) / "string.cir"
            path.write_text("\n".join(text) + "\n", encoding="ascii")
            done = subprocess.run(
                ["ngspice", "-b", str(path)], capture_output=True, text=True, check=False
            )
            if not out.exists():
                raise RuntimeError("ngspice gave no curve: " + done.stdout[-400:] + done.stderr)
            table = np.loadtxt(out)
        return table[:, 0], table[:, 1]


def simulate(
    case: Case, module: pd.Series, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray, Case]:
    """The true curve (voltage, current with generation positive) and the case with its stairs."""
    cell = healthy_cell(module, case)
    per_group = int(module["N_s"]) // 3
    cell = replace(
        cell,
        photocurrent=cell.photocurrent * (1 - case.current_loss),
        saturation_current=cell.saturation_current
        * np.exp(case.voltage_loss * 0.62 / cell.thermal),
    )
    modules = case.modules - case.missing_modules
    net = Netlist(case.temperature)
    chosen = limited_groups(case, 3 * modules, rng)
    shunted = set(rng.permutation(modules)[: case.shunt_modules].tolist())
    gain = 1 + case.spread * rng.standard_normal(modules)
    shift = case.voltage_spread * rng.standard_normal(modules) * 0.62 / cell.thermal
    node, top_current = "0", cell.photocurrent
    for number in range(modules):
        this = replace(
            cell,
            photocurrent=cell.photocurrent * gain[number],
            saturation_current=cell.saturation_current * np.exp(-shift[number]),
        )
        shunt = 0.0
        if number in shunted:
            shunt = case.shunt_share * cell.photocurrent / (0.8 * 0.62)
        node = add_module(net, node, this, per_group, number, chosen, case, shunt)
    v_oc = 0.62 * per_group * 3 * modules
    ohm = case.series_share * v_oc / top_current + 1e-6
    net.resistor("top", node, ohm)
    voltage, current = net.solve("top", 1.32 * v_oc)
    below = np.flatnonzero(current < 0)
    end = below[0] + 1 if below.size else voltage.size
    voltage, current = voltage[:end], current[:end]
    if current[-1] > 0 or end < 60:
        raise RuntimeError(f"{case.name}: the sweep does not reach open circuit")
    return voltage, current, replace(case, stairs=true_stairs(case, current[0]))


def limited_groups(case: Case, groups: int, rng: np.random.Generator) -> dict[int, tuple]:
    """Which groups are limited or shorted: group number -> ("limit", Limited) or ("short",)."""
    order = rng.permutation(groups)
    taken: dict[int, tuple] = {}
    k = 0
    for one in case.limited:
        for _ in range(one.groups):
            taken[int(order[k])] = ("limit", one)
            k += 1
    for _ in range(case.shorted_groups):
        taken[int(order[k])] = ("short",)
        k += 1
    return taken


def add_module(
    net: Netlist, node: str, cell: Cell, per_group: int, number: int,
    chosen: dict[int, tuple], case: Case, shunt: float,
) -> str:  # fmt: skip
    """One module's groups from `node` upwards; returns the upper node."""
    normal = [g for g in range(3) if 3 * number + g not in chosen]
    if normal:
        top = f"m{number}"
        net.cells(top, node, cell, per_group * len(normal), shunt=shunt)
        net.bypass(top, node, case.bypass_drop, len(normal))
        node = top
    for g in range(3):
        what = chosen.get(3 * number + g)
        if what is None:
            continue
        top = f"g{number}x{g}"
        if what[0] == "short":
            net.resistor(top, node, 0.005)
        else:
            add_limited(net, top, node, cell, per_group, what[1], case)
            net.bypass(top, node, case.bypass_drop, 1)
        node = top
    return node


def add_limited(
    net: Netlist, top: str, node: str, cell: Cell, per_group: int, limited: object, case: Case
) -> None:
    """One group with limited cells; half-cut modules have two paths."""
    paths = case.parallel_paths
    for path in range(paths):
        share = 1.0 / paths
        if path >= limited.halves:  # type: ignore[attr-defined]
            net.cells(top, node, cell, per_group, share)
            continue
        cells = limited.cells or per_group  # type: ignore[attr-defined]
        middle = node
        if cells < per_group:
            middle = f"h{net.next()}"
            net.cells(middle, node, cell, per_group - cells, share)
        net.cells(
            top, middle, cell, cells, share,
            fraction=limited.fraction, breakdown=case.breakdown,  # type: ignore[attr-defined]
        )  # fmt: skip


def true_stairs(case: Case, i_sc: float) -> tuple[tuple[int, float], ...]:
    """Groups and current fraction of each stair: the photocurrent the limited cells allow."""
    stairs = []
    for one in case.limited:
        paths = case.parallel_paths
        fraction = one.fraction if one.halves >= paths else 1 - (1 - one.fraction) / paths
        stairs.append((one.groups, fraction))
    return tuple(stairs)
