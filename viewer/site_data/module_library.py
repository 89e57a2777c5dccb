"""Modules of the CEC list that comes with pvlib: look-up by name, search by part of a name.

The list (California Energy Commission, prepared for the System Advisor Model) is read from
pvlib's own data folder without importing pvlib, once per process. Its lines are kept as they are
and taken apart when asked for: 21,535 entries as mappings took 0.2 s and 60 MB.

How its columns become a `Datasheet`:

- `alpha_sc` [A/K] and `beta_oc` [V/K] are divided by Isc and Voc at STC: %/K. `gamma_r` is
  %/K already.
- Mono-c-Si, Multi-c-Si, Thin Film, CdTe and CIGS become mono-Si, multi-Si, thin-film, CdTe
  and CIGS. The list does not tell heterojunction or n-type cells from other mono-Si ones:
  site.toml may name the technology beside `library`.
- `N_s` is meant to be the cells along one series path, but many entries (half-cut and
  shingled modules, thin films in two halves) give the number of all cells. Such an entry
  shows in its Voc per cell; see `series_cells`.
- Bypass diodes are not listed: 3 is assumed (common practice, no source). Bifacial modules
  are only flagged, without a bifaciality: 0 is assumed.
"""

import csv
import difflib
import functools
import importlib.util
import re
from dataclasses import dataclass
from pathlib import Path

from viewer.site_data.datasheet import Datasheet

TECHNOLOGY_OF = {
    "Mono-c-Si": "mono-Si",
    "Multi-c-Si": "multi-Si",
    "Thin Film": "thin-film",
    "CdTe": "CdTe",
    "CIGS": "CIGS",
}

LEAST_CELL_VOLTAGE = 0.45
"""Voc of one cell [V] below which a count is taken to span several paths (from memory)."""

USUAL_CELL_VOLTAGE = {"mono-Si": 0.64, "multi-Si": 0.62, "CIGS": 0.64}
"""Voc of one cell at STC [V], medians of the list's entries."""

USUAL_THIN_FILM_VOLTAGE = 0.80
"""The same for the other thin films: CdTe entries of the list lie between 0.81 and 0.83 V."""


@dataclass(frozen=True)
class LibraryModule:
    """One entry: its datasheet, and one sentence for each thing assumed about it."""

    datasheet: Datasheet
    remarks: tuple[str, ...] = ()


class UnknownModuleError(LookupError):
    """The list has no module of that name; the message suggests near ones."""


def module_named(name: str) -> LibraryModule:
    """The module of that name, spelt as in the list or as pvlib's `retrieve_sam` spells it.

    Capital letters do not matter. Raises UnknownModuleError with the nearest names in words.
    """
    listed = _listed()
    known = (
        name
        if name in listed.lines
        else listed.identifiers.get(_identifier(name)) or listed.folded.get(_folded(name))
    )
    if known is None:
        raise UnknownModuleError(_suggestion(name))
    return _library_module(listed.row(known))


def search_modules(text: str, limit: int = 50) -> tuple[str, ...]:
    """Names that hold every word of `text`, in any order; names that begin with it first.

    Capitals, spaces and punctuation do not matter.
    """
    words = _folded(text).split("_")
    start = _folded(text)
    found = [
        (not folded.startswith(start), name)
        for name, folded in _listed().names
        if all(word in folded for word in words)
    ]
    return tuple(name for _, name in sorted(found)[:limit])


def module_count() -> int:
    """How many modules the list holds."""
    return len(_listed().lines)


def all_modules() -> tuple[LibraryModule, ...]:
    """Every module of the list, in its order."""
    listed = _listed()
    return tuple(_library_module(listed.row(name)) for name in listed.lines)


def series_cells(technology: str, cells: int, v_oc: float) -> tuple[int, int]:
    """Cells along one series path and number of parallel paths, from a count that may be of all.

    A count that gives a credible open-circuit voltage per cell (at least
    LEAST_CELL_VOLTAGE) is one path. Otherwise the count is divided by the number of paths that
    brings the voltage per cell nearest to the technology's usual one, if that is credible.
    """
    if v_oc / cells >= LEAST_CELL_VOLTAGE:
        return cells, 1
    usual = USUAL_CELL_VOLTAGE.get(technology, USUAL_THIN_FILM_VOLTAGE)
    divisors = [paths for paths in range(2, 13) if cells % paths == 0]
    if not divisors:
        return cells, 1
    paths = min(divisors, key=lambda p: abs(v_oc * p / cells - usual))
    if abs(v_oc * paths / cells - usual) > 0.25 * usual:
        return cells, 1
    return cells // paths, paths


@dataclass(frozen=True)
class _Listed:
    """The list by names; `lines` are its lines by the exact name, in its order."""

    columns: tuple[str, ...]
    lines: dict[str, str]

    def row(self, name: str) -> dict[str, str]:
        return dict(zip(self.columns, next(csv.reader([self.lines[name]])), strict=True))

    @functools.cached_property
    def names(self) -> tuple[tuple[str, str], ...]:
        """Each exact name beside its words alone."""
        return tuple((name, _folded(name)) for name in self.lines)

    @functools.cached_property
    def folded(self) -> dict[str, str]:
        """Exact names by words alone; of names that differ in marks only, the first."""
        return {plain: name for name, plain in reversed(self.names)}

    @functools.cached_property
    def identifiers(self) -> dict[str, str]:
        """Exact names by pvlib's spelling, every mark an underscore."""
        return {_identifier(name): name for name in self.lines}


@functools.cache
def _listed() -> _Listed:
    lines = _list_file().read_text(encoding="utf-8").splitlines()
    columns = tuple(next(csv.reader(lines[:1])))
    entries = lines[3:]  # after the names come rows of units and of variable names
    return _Listed(columns, {_first_cell(line): line for line in entries})


def _first_cell(line: str) -> str:
    return next(csv.reader([line]))[0] if line.startswith('"') else line.partition(",")[0]


def _list_file() -> Path:
    package = importlib.util.find_spec("pvlib")
    if package is None or not package.submodule_search_locations:
        raise UnknownModuleError("pvlib is not installed, so its module list cannot be read.")
    data = Path(package.submodule_search_locations[0]) / "data"
    files = sorted(data.glob("sam-library-cec-modules-*.csv"))
    if not files:
        raise UnknownModuleError(f"pvlib's module list is missing from {data}; reinstall pvlib.")
    return files[-1]


def _identifier(name: str) -> str:
    return re.sub(r"\W", "_", name).casefold()


def _folded(name: str) -> str:
    return re.sub(r"[\W_]+", "_", name).strip("_").casefold()


def _suggestion(name: str) -> str:
    near = [found for found in search_modules(name, 3) if found] if _folded(name) else []
    if not near:
        listed = _listed()
        folded = _folded(name)
        first = folded.split("_")[0][:3]
        pool = [plain for _, plain in listed.names if plain.startswith(first)]
        close = difflib.get_close_matches(folded, pool, 3, 0.6)
        near = [listed.folded[plain] for plain in close]
    if not near:
        return f"pvlib's CEC list has no module '{name}'; search it by a part of the name."
    nearest = ", ".join(f"'{one}'" for one in near)
    return f"pvlib's CEC list has no module '{name}'; near it are {nearest}."


def _library_module(row: dict[str, str]) -> LibraryModule:
    name = row["Name"]
    technology = TECHNOLOGY_OF[row["Technology"]]
    i_sc, v_oc, listed_cells = float(row["I_sc_ref"]), float(row["V_oc_ref"]), int(row["N_s"])
    cells, paths = series_cells(technology, listed_cells, v_oc)
    remarks = []
    if paths > 1:
        remarks.append(
            f"The list gives {listed_cells} cells for '{name}', {v_oc / listed_cells:.2f} V each "
            f"at open circuit: read as {paths} parallel paths of {cells} cells."
        )
    if row["Bifacial"] == "1":
        remarks.append(
            f"'{name}' is bifacial, but the list does not say by how much: bifaciality 0 is used "
            "unless site.toml gives it."
        )
    datasheet = Datasheet(
        key=name,
        technology=technology,
        i_sc=i_sc,
        v_oc=v_oc,
        i_mp=float(row["I_mp_ref"]),
        v_mp=float(row["V_mp_ref"]),
        alpha_sc=float(row["alpha_sc"]) / i_sc * 100,
        beta_voc=float(row["beta_oc"]) / v_oc * 100,
        gamma_pmp=float(row["gamma_r"]),
        cells_in_series=cells,
        parallel_paths=paths,
        library=name,
    )
    return LibraryModule(datasheet, tuple(remarks))
