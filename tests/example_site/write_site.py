"""Computes the invented demo site and writes it as visit folders.

    python -m tests.example_site.write_site [FOLDER]      (default: example_traces)

Needs ngspice. Seeded: the same plan gives the same files. The curves come from circuits solved
by ngspice and conditions from pvlib, not from the package, so that the package can be tried on
them.
"""

import sys
import tomllib
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w

from tests.example_site.readme_text import readme_text
from tests.example_site.sweep_points import Instrument, recorded
from tests.example_site.true_module import ModuleTruth, module_truth
from tests.example_site.true_string import Spread, Surroundings, string_groups
from tests.example_site.weather import Moment, moments
from tests.spice.string_deck import sweep

PLAN = Path(__file__).with_name("plan.toml")
NOTE = "invented: computed, not measured; see README.md"
GRID = 420
DAMAGED = bytes([0, 255, 0, 17, 254, 1, 0, 129]) * 40


def read_plan() -> dict[str, Any]:
    return tomllib.loads(PLAN.read_text(encoding="utf-8"))


def string_names(box: dict[str, Any]) -> list[str]:
    return [f"{box['name']}-S{n:02d}" for n in range(1, box["strings"] + 1)]


def write_site(folder: Path) -> None:
    """The whole site under `folder`: site.toml, README.md and two visits."""
    plan = read_plan()
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(site_text(plan), encoding="utf-8")
    (folder / "README.md").write_text(readme_text(plan), encoding="utf-8")
    modules = {key: module_truth(key, sheet) for key, sheet in plan["module"].items()}
    for number, visit in enumerate(plan["visit"], start=1):
        write_visit(folder / visit["folder"], plan, modules, number, visit)


def site_text(plan: dict[str, Any]) -> str:
    """site.toml: the printed values only; what is true of the cells stays in the plan."""
    modules = {
        key: {name: value for name, value in sheet.items() if name != "truth"}
        for key, sheet in plan["module"].items()
    }
    boxes = [
        {
            "name": box["name"],
            "string": [
                {
                    "name": name,
                    "module": box["module"],
                    "modules_in_series": box["modules_in_series"],
                    "strings_in_parallel": 1,
                }
                for name in string_names(box)
            ],
        }
        for box in plan["combiner"]
    ]
    site = {
        "name": plan["site"],
        "location": plan["location"],
        "mounting": plan["array"],
        "module": modules,
        "combiner": boxes,
    }
    head = (
        "# Invented. No such site exists and nothing here was measured: the traces were\n"
        "# computed by tests/example_site. README.md tells which faults were put in.\n"
    )
    return head + tomli_w.dumps(site)


def write_visit(
    folder: Path,
    plan: dict[str, Any],
    modules: dict[str, ModuleTruth],
    number: int,
    visit: dict[str, Any],
    traced: int | None = None,
) -> None:
    """Every string of one visit, each in a file of its own.

    `traced` is how many strings the day had, if `plan` holds only the first of them.
    """
    names = [name for box in plan["combiner"] for name in string_names(box)]
    rng = np.random.default_rng([plan["seed"], number])
    instrument = Instrument(1 + 0.001 * rng.standard_normal(), 1 + 0.0015 * rng.standard_normal())
    day = moments(plan, visit, traced or len(names), rng)
    weather = dict(zip(names, day, strict=False))
    for box_number, box in enumerate(plan["combiner"]):
        place = folder / box["name"]
        place.mkdir(parents=True, exist_ok=True)
        for string_number, name in enumerate(string_names(box)):
            own = np.random.default_rng([plan["seed"], box_number, string_number])
            spread = Spread.drawn(box["modules_in_series"], own)
            age = box["first_year_loss"] * (1 + 0.2 * own.standard_normal()) * (number - 1)
            faults = [f for f in plan["fault"] if f["string"] == name and number in f["visits"]]
            noise = [plan["seed"], 77, number, box_number, string_number]
            text = trace_text(
                modules[box["module"]],
                box,
                name,
                weather[name],
                visit,
                age,
                spread,
                faults,
                instrument,
                np.random.default_rng(noise),
            )
            write_trace(place / f"{name}.csv", text, faults)


def write_trace(path: Path, text: str, faults: list[dict[str, Any]]) -> None:
    if any(f["kind"] == "unreadable" for f in faults):
        path.write_bytes(text[:150].encode() + DAMAGED)
    else:
        path.write_text(text, encoding="utf-8", newline="\n")


def trace_text(
    module: ModuleTruth,
    box: dict[str, Any],
    name: str,
    moment: Moment,
    visit: dict[str, Any],
    age: float,
    spread: Spread,
    faults: list[dict[str, Any]],
    instrument: Instrument,
    rng: np.random.Generator,
) -> str:
    """One trace file: what was recorded of the string and of the weather."""
    around = Surroundings(
        moment.poa_global, moment.temperature_cell, visit["soiling"][box["name"]], age
    )
    cloud = sum(f["loss"] for f in faults if f["kind"] == "passing_cloud")
    voltage, current = true_curve(module, box, around, spread, faults, cloud)
    points = recorded(voltage, current, instrument, rng)
    head = head_lines(box, name, moment, visit, faults, cloud, rng)
    rows = [f"{v:.2f},{i:.3f}" for v, i in zip(*points, strict=True)]
    return "\n".join([*head, "voltage,current", *rows, ""])


def true_curve(
    module: ModuleTruth,
    box: dict[str, Any],
    around: Surroundings,
    spread: Spread,
    faults: list[dict[str, Any]],
    cloud: float,
) -> tuple[np.ndarray, np.ndarray]:
    """The string's curve by ngspice; under a cloud that comes up, a blend along the sweep."""
    extra = sum(f["ohm"] for f in faults if f["kind"] == "series_resistance")
    resistance = box["cable"] + extra
    stop = 1.03 * box["modules_in_series"] * module.sheet.get("v_oc", 40.0)
    groups = string_groups(module, around, spread, faults)
    voltage, current = sweep(groups, stop, GRID, resistance)
    if cloud:
        later = Surroundings(
            around.poa_global * (1 - cloud),
            around.temperature_cell,
            around.soiling,
            around.power_lost_to_age,
        )
        _, after = sweep(string_groups(module, later, spread, faults), stop, GRID, resistance)
        share = np.clip(np.linspace(0, 1.05, GRID), 0, 1)
        current = (1 - share) * current + share * after
    return voltage, current


def head_lines(
    box: dict[str, Any],
    name: str,
    moment: Moment,
    visit: dict[str, Any],
    faults: list[dict[str, Any]],
    cloud: float,
    rng: np.random.Generator,
) -> list[str]:
    """The `# key: value` lines, with the sensors' errors in them."""
    poa = moment.poa_global * visit["sensor_gain"] * (1 + 0.004 * rng.standard_normal())
    end = poa * (1 - cloud) * (1 + 0.0015 * rng.standard_normal())
    back = moment.temperature_module + 0.7 * rng.standard_normal()
    back += sum(f["error"] for f in faults if f["kind"] == "temperature_reading")
    measured_at: datetime = moment.measured_at
    return [
        f"# combiner: {box['name']}",
        f"# string: {name}",
        f"# measured_at: {measured_at.isoformat(timespec='seconds')}",
        f"# poa_global: {poa:.1f}",
        f"# poa_global_end: {end:.1f}",
        f"# temperature_module: {back:.1f}",
        f"# temperature_air: {moment.temperature_air:.1f}",
        f"# wind_speed: {moment.wind_speed:.1f}",
        f"# note: {NOTE}",
    ]


if __name__ == "__main__":
    write_site(Path(sys.argv[1]) if len(sys.argv) > 1 else Path("example_traces"))
