"""Makes a visit folder of invented strings whose every cell differs, with known faults.

The set is independent of tests/fault_set, which lumps equal cells into one element, spreads the
modules of a string by half a percent and knows no spread of temperatures, of cells or of a
delivery against its datasheet. What such a set hides, this one is to find out: how often the
usual unevenness of a sound string is taken for a fault, and how faults are read through it.
Curves are computed cell by cell from tables (string_of_cells.py), by nothing of this program.

    python -m tests.uneven_strings.generate FOLDER --plan usual --seed 20261129 --strings 440

FOLDER gets `site.toml`, one CSV per string (a hundred to a sub-folder) and `truth.json`. Each
string has a combiner of its own, so that no neighbours help. The plans are described in plan.py.

Seeds for tuning: usual 20261129, varied 77, printed 4242. Held out: usual 31313, varied 32323;
of these look at the sums only.
"""

import argparse
import json
from collections.abc import Collection, Iterable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from tests.uneven_strings.faulty_string import Measured, measured_string
from tests.uneven_strings.module_types import BYPASS_DIODES, ModuleType, choose_types, datasheet
from tests.uneven_strings.plan import PLANS, kinds_of, planned_strings
from tests.uneven_strings.truth import truth_of

FIRST_DAY = datetime(2024, 1, 5, 11, 0)
IN_SUB_FOLDER = 100


def generate(
    folder: Path, plan: str, seed: int, strings: int, only: Collection[int] | None = None
) -> list[dict[str, Any]]:
    """Write the visit folder and return its truth, one dictionary a string.

    With `only` the strings of these numbers alone, the same as among all.
    """
    rng = np.random.default_rng(seed)
    types = choose_types(kinds_of(plan), plan == "printed", rng)
    truth = []
    for planned in planned_strings(plan, strings, rng):
        number = planned.number
        if only is not None and number not in only:
            continue
        measured = measured_string(planned, types, np.random.default_rng([seed, number]))
        file = f"{number // IN_SUB_FOLDER:02d}/t{number:04d}.csv"
        path = folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(trace_text(number, measured), encoding="utf-8")
        truth.append(truth_of(f"S-{number:04d}", file, planned, measured))
    site = site_text(types, truth, plan == "printed")
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "truth.json").write_text(json.dumps(truth, indent=1), encoding="utf-8")
    return truth


def trace_text(number: int, measured: Measured) -> str:
    """A plain trace file; every string is measured on a day of its own."""
    quantity = "temperature_module" if measured.at_back else "temperature_cell"
    lines = [
        f"# combiner: CB-{number:04d}",
        f"# string: S-{number:04d}",
        f"# measured_at: {(FIRST_DAY + timedelta(days=number)).isoformat()}",
        f"# poa_global: {measured.poa_global:.1f}",
        f"# {quantity}: {measured.temperature:.1f}",
        "voltage,current",
    ]
    points = zip(measured.sweep.voltage, measured.sweep.current, strict=True)
    lines += [f"{voltage:.3f},{current:.4f}" for voltage, current in points]
    return "\n".join(lines) + "\n"


def site_text(types: Iterable[ModuleType], truth: list[dict[str, Any]], printed: bool) -> str:
    """site.toml with every module type, and a combiner for each string."""
    parts = ['name = "Uneven strings"\n']
    parts += [module_table(one, printed) for one in types]
    for one in truth:
        parts.append(
            f'[[combiner]]\nname = "{one["name"].replace("S-", "CB-")}"\n  [[combiner.string]]\n'
            f'  name = "{one["name"]}"\n  module = "{one["module"]}"\n'
            f"  modules_in_series = {one['modules']}\n  strings_in_parallel = 1\n"
        )
    return "\n".join(parts)


def module_table(module: ModuleType, printed: bool) -> str:
    """The type's block of site.toml, rounded as datasheets are."""
    values = datasheet(module.row, printed)
    lines = [f"[module.{module.key}]", f'technology = "{module.technology}"']
    lines += [f"{name} = {values[name]:.2f}" for name in ("i_sc", "v_oc", "i_mp", "v_mp")]
    lines += [f"{name} = {values[name]:.3f}" for name in ("alpha_sc", "beta_voc", "gamma_pmp")]
    lines += [
        f"cells_in_series = {module.cells_in_series}",
        f"parallel_paths = {module.paths}",
        f"bypass_diodes = {BYPASS_DIODES}",
        "bifaciality = 0.0",
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--plan", choices=PLANS, default="usual")
    parser.add_argument("--seed", type=int, default=20261129)
    parser.add_argument("--strings", type=int, default=440)
    arguments = parser.parse_args()
    generate(arguments.folder, arguments.plan, arguments.seed, arguments.strings)


if __name__ == "__main__":
    main()
