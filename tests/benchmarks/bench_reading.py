"""Reading 20,000 trace files of 200 points, beside pandas reading the same files.

Run: python -m tests.benchmarks.bench_reading [FILES]. The files are made in a temporary
folder. Every reader runs on all files, in turn, in one process on one core.
"""

import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import pandas as pd

from viewer.reading.file_reading import read_file
from viewer.reading.recipes.recipe_file import parse_recipe, recipe_text
from viewer.reading.visits.visit_folder import open_visit_folder, read_source

POINTS = 200
HEAD = """\
# combiner: CB{box}
# string: S{string}
# measured_at: 2024-05-17T10:15:00+01:00
# poa_global: 812.4
# temperature_module: 48.2
voltage,current
"""
FOREIGN_HEAD = "Einstrahlung;812,4;W/m²\nModultemperatur;48,2\nU [mV];I [mA]\n"


def make_files(folder: Path, count: int) -> None:
    """The same invented sweeps in the plain format, and a fifth of them in a foreign one."""
    rng = np.random.default_rng(0)
    for number in range(count):
        voltage = np.linspace(0, 700, POINTS) + rng.normal(0, 0.2, POINTS)
        current = 9 * (1 - np.exp((voltage - 701) / 40)) + rng.normal(0, 0.01, POINTS)
        points = list(zip(voltage.tolist(), current.tolist(), strict=True))
        box, string = divmod(number, 20)
        plain = folder / "plain" / f"CB{box}"
        plain.mkdir(parents=True, exist_ok=True)
        head = HEAD.format(box=box, string=string)
        text = head + "".join(f"{v:.3f},{i:.4f}\n" for v, i in points)
        (plain / f"S{string}.csv").write_text(text)
        if number % 5 == 0:
            foreign = folder / "foreign"
            foreign.mkdir(exist_ok=True)
            body = "".join(f"{v * 1e3:.1f};{i * 1e3:.2f}\n" for v, i in points)
            path = foreign / f"{number}.txt"
            path.write_text(FOREIGN_HEAD + body.replace(".", ","), encoding="utf-8")


def timed(name: str, files: list[Path], read: Callable[[Path], object]) -> None:
    begun = time.perf_counter()
    for file in files:
        read(file)
    seconds = time.perf_counter() - begun
    print(f"{name:42} {seconds:7.2f} s  {1e3 * seconds / len(files):7.3f} ms a file")


def csv_files(folder: Path, ending: str) -> list[Path]:
    found: Iterable[Path] = folder.rglob(f"*{ending}")
    return sorted(found)


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_files(folder, count)
        plain, foreign = csv_files(folder / "plain", ".csv"), csv_files(folder / "foreign", ".txt")
        print(f"{len(plain)} plain files, {len(foreign)} foreign files, {POINTS} points each")
        begun = time.perf_counter()
        visit = open_visit_folder(folder / "plain")
        print(f"{'opening the folder':42} {time.perf_counter() - begun:7.2f} s")
        timed("pandas.read_csv, points alone", plain, lambda p: pd.read_csv(p, skiprows=5))
        timed(
            "plain format, points and conditions",
            plain,
            lambda p: read_source(visit, p.relative_to(visit.path).as_posix()),
        )
        timed(
            "pandas.read_csv, foreign, told how",
            foreign,
            lambda p: pd.read_csv(p, sep=";", decimal=",", skiprows=2),
        )
        timed("foreign, found out anew each time", foreign, lambda p: read_file(p, p.name))
        recipe = read_file(foreign[0], "a").recipe
        if recipe is not None:
            shared = parse_recipe(recipe_text(recipe), "recipe")
            timed("foreign, by recipe", foreign, lambda p: read_file(p, p.name, shared))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"peak memory {peak:.0f} MiB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
