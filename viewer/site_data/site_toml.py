"""site.toml, the description of a site beside its trace files, to a `SiteLayout` and back.

What can be understood is kept: a wrong module or string is left out or flagged, everything
else stays usable, and each error is one sentence naming file and line.
"""

import tomllib
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import tomli_w

from viewer.physics.cable_resistance import CONDUCTORS, COPPER
from viewer.physics.nomenclature import quantity
from viewer.site_data import datasheet_checks
from viewer.site_data.datasheet import TECHNOLOGIES, Datasheet
from viewer.site_data.matrix_rows import matrix_data, read_matrix
from viewer.site_data.module_library import UnknownModuleError, module_named
from viewer.site_data.site_layout import Combiner, Location, Mounting, SiteLayout, StringLayout
from viewer.site_data.toml_lines import Place, key_lines
from viewer.site_data.toml_table import Findings, Table
from viewer.site_data.warranty_terms import WarrantyTerms, read_warranty

FILE_NAME = "site.toml"
SIZE_LIMIT = 4_000_000
"""Bytes; a site of 20,000 strings needs about 2 MB."""

_NUMBERS = ("i_sc", "v_oc", "i_mp", "v_mp", "alpha_sc", "beta_voc", "gamma_pmp")
_MODULE_KEYS = (
    "library",
    "technology",
    *_NUMBERS,
    "cells_in_series",
    "parallel_paths",
    "bypass_diodes",
    "bifaciality",
)
MOST_MODULES, MOST_STRINGS = 1_000, 10_000
"""In series and side by side: more stand in no string, and a curve of so many takes for ever."""
_STRING_KEYS = ("name", "module", "modules_in_series", "strings_in_parallel")
_CABLE_KEYS = ("cable_length", "cable_cross_section", "cable_material")


@dataclass(frozen=True)
class SiteDescription:
    """What a site.toml says: `problems` must be mended, `remarks` are worth knowing."""

    layout: SiteLayout
    problems: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def read_site_toml(path: Path) -> SiteDescription:
    """The site described by that file. Never raises: what is wrong is told in `problems`."""
    empty = SiteLayout(path.parent.resolve().name, {}, ())
    try:
        data = path.read_bytes()
    except OSError as error:
        return SiteDescription(empty, (f"{path.name} cannot be read: {error.strerror}.",))
    if len(data) > SIZE_LIMIT:
        return SiteDescription(
            empty, (f"{path.name} has {len(data):,} bytes; more than {SIZE_LIMIT:,} are refused.",)
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return SiteDescription(
            empty, (f"{path.name}, line {line}: not UTF-8 text; save the file as UTF-8.",)
        )
    return parse_site_toml(text, path.name, empty.name)


def parse_site_toml(text: str, file: str, default_name: str) -> SiteDescription:
    """The same from text; `file` names it in sentences."""
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        return SiteDescription(SiteLayout(default_name, {}, ()), (_syntax_problem(file, error),))
    findings = Findings(file, key_lines(text))
    top = Table(data, (), "the site", findings)
    top.check_keys(("name", "location", "mounting", "module", "combiner"))
    modules = _modules(data.get("module", {}), findings)
    layout = SiteLayout(
        name=top.text("name", default_name),
        modules=modules,
        combiners=_combiners(top, modules, findings),
        location=_location(data["location"], findings) if "location" in data else None,
        mounting=_mounting(data["mounting"], findings) if "mounting" in data else None,
    )
    return SiteDescription(layout, findings.problems, findings.remarks)


def site_toml_text(layout: SiteLayout) -> str:
    """A site.toml that reads back as the same layout."""
    data: dict[str, object] = {"name": layout.name}
    if layout.location is not None:
        data["location"] = {
            name: value
            for name in ("latitude", "longitude", "altitude", "timezone")
            if (value := getattr(layout.location, name)) is not None
        }
    if layout.mounting is not None:
        data["mounting"] = asdict(layout.mounting)
    data["module"] = {key: module_data(sheet) for key, sheet in layout.modules.items()}
    data["combiner"] = [
        {
            "name": box.name,
            "string": [_string_data(one) for one in box.strings],
        }
        for box in layout.combiners
    ]
    return tomli_w.dumps(data)


def module_data(sheet: Datasheet) -> dict[str, object]:
    """The table [module.KEY] of that datasheet."""
    data: dict[str, object] = {
        name: value for name in _MODULE_KEYS if (value := getattr(sheet, name)) not in (None, "")
    }
    if sheet.warranty is not None:
        terms = asdict(sheet.warranty)
        data["warranty"] = {
            name: value
            for name, value in terms.items()
            if value not in (None, ()) and not (terms["steps"] and name in ("first_year", "annual"))
        }
    if sheet.matrix:
        data["matrix"] = matrix_data(sheet.matrix)
    return data


def _syntax_problem(file: str, error: Exception) -> str:
    if isinstance(error, RecursionError):
        return f"{file} nests tables too deeply to be read."
    reason = str(error)
    head, _, place = reason.rpartition(" (at ")
    line = place.removeprefix("line ").split(",")[0]
    if head and line.isdigit():
        return f"{file}, line {line}: not valid TOML, {_lower(head)}; mend that line."
    reason = reason.replace(" (at end of document)", " at the end of the file")
    return f"{file}: not valid TOML, {_lower(reason)}."


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _location(data: object, findings: Findings) -> Location | None:
    table = Table(data, ("location",), "the location", findings)
    table.check_keys(("latitude", "longitude", "altitude", "timezone"))
    latitude = table.number("latitude", "degrees north")
    longitude = table.number("longitude", "degrees east")
    altitude = table.number("altitude", "m", 0.0)
    timezone = table.text("timezone", "") or None
    table.within("latitude", -90, 90)
    table.within("longitude", -180, 180)
    if timezone is not None and not _is_timezone(timezone):
        findings.problem(
            ("location", "timezone"),
            f"timezone '{timezone[:40]}' is not known; write an IANA name such as 'Europe/Lisbon'.",
        )
        timezone = None
    return Location(latitude, longitude, altitude, timezone) if table.complete else None


def _mounting(data: object, findings: Findings) -> Mounting | None:
    table = Table(data, ("mounting",), "the mounting", findings)
    table.check_keys(("tilt", "azimuth", "tracking", "max_angle", "ground_coverage_ratio"))
    mounting = Mounting(
        tilt=table.number("tilt", "degrees from horizontal"),
        azimuth=table.number("azimuth", "degrees clockwise from north"),
        tracking=table.flag("tracking"),
        max_angle=table.number("max_angle", "degrees", Mounting.max_angle),
        ground_coverage_ratio=table.number(
            "ground_coverage_ratio", "", Mounting.ground_coverage_ratio
        ),
    )
    table.within("tilt", 0, 90)
    table.within("azimuth", -360, 360)
    table.within("max_angle", 0, 90)
    table.within("ground_coverage_ratio", 0, 1)
    return mounting if table.complete else None


def _is_timezone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError, RecursionError):
        return False  # a name of a thousand parts is looked for in a thousand folders
    return True


def _modules(data: object, findings: Findings) -> dict[str, Datasheet]:
    table = Table(data, ("module",), "the list of modules", findings)
    read = {key: _module(key, value, findings) for key, value in table.data.items()}
    return {key: sheet for key, sheet in read.items() if sheet is not None}


def _module(key: str, data: object, findings: Findings) -> Datasheet | None:
    place: Place = ("module", key)
    if isinstance(data, dict) and any(
        isinstance(value, dict) for name, value in data.items() if name != "warranty"
    ):
        findings.problem(
            place, f"the key of module '{key}' holds a dot; write it in quotes, [module.\"a.b\"]."
        )
        return None
    table = Table(data, place, f"module '{key}'", findings)
    table.check_keys((*_MODULE_KEYS, "warranty", "matrix"))
    base = _library_base(table) if "library" in table else None
    if not table.complete:
        return None
    sheet = _datasheet(key, table, base)
    if not table.complete:
        return None
    for sentence in datasheet_checks.errors(sheet):
        table.complete = False
        findings.problem(place, f"module '{key}': {sentence}")
    for sentence in datasheet_checks.doubts(sheet):
        findings.remark(place, f"module '{key}': {sentence}")
    return sheet if table.complete else None


def _library_base(table: Table) -> Datasheet | None:
    name = table.text("library")
    if not name:
        return None
    try:
        found = module_named(name)
    except UnknownModuleError as error:
        table.complete = False
        table.findings.problem((*table.place, "library"), str(error))
        return None
    said = "bifaciality" if "bifaciality" in table else ""
    for remark in found.remarks:
        if not (said and said in remark):
            table.findings.remark((*table.place, "library"), remark)
    return found.datasheet


def _datasheet(key: str, table: Table, base: Datasheet | None) -> Datasheet:
    """The module's values; with a library module, keys given beside it replace its values."""

    def number(name: str) -> float:
        return table.number(name, quantity(name).unit, getattr(base, name, None))

    def count(name: str, least: int) -> int:
        usual = getattr(Datasheet, name, None)  # the record's own default, where it has one
        return table.count(name, getattr(base, name, usual), least)

    return Datasheet(
        key=key,
        technology=_technology(table, getattr(base, "technology", None)),
        i_sc=number("i_sc"),
        v_oc=number("v_oc"),
        i_mp=number("i_mp"),
        v_mp=number("v_mp"),
        alpha_sc=number("alpha_sc"),
        beta_voc=number("beta_voc"),
        gamma_pmp=number("gamma_pmp"),
        cells_in_series=count("cells_in_series", 1),
        parallel_paths=count("parallel_paths", 1),
        bypass_diodes=count("bypass_diodes", 0),
        bifaciality=table.number("bifaciality", "", Datasheet.bifaciality),
        library=base.library if base is not None else None,
        warranty=_warranty(table) if "warranty" in table else None,
        matrix=read_matrix(table, "matrix"),
    )


def _warranty(module: Table) -> WarrantyTerms | None:
    place = (*module.place, "warranty")
    what = f"the warranty of {module.what}"
    return read_warranty(Table(module.data["warranty"], place, what, module.findings))


def _technology(table: Table, default: str | None) -> str:
    given = table.text("technology", default)
    matching = {one.casefold(): one for one in TECHNOLOGIES}
    if given and given.casefold() not in matching:
        table.complete = False
        table.findings.problem(
            (*table.place, "technology"),
            f"technology '{given}' of {table.what} is not known; "
            f"write one of {', '.join(TECHNOLOGIES)}.",
        )
    return matching.get(given.casefold(), given)


def _combiners(
    top: Table, modules: dict[str, Datasheet], findings: Findings
) -> tuple[Combiner, ...]:
    read: dict[str, Combiner] = {}
    for number, data in enumerate(top.rows("combiner")):
        place: Place = ("combiner", number)
        table = Table(data, place, f"combiner {number + 1}", findings)
        table.check_keys(("name", "string"))
        name = table.text("name")
        if not name:
            continue
        table.what = f"combiner '{name}'"
        if name in read:
            findings.problem(
                place, f"combiner '{name}' is described twice; only the first one is used."
            )
            continue
        read[name] = Combiner(name, _strings(table, modules))
    return tuple(read.values())


def _strings(combiner: Table, modules: dict[str, Datasheet]) -> tuple[StringLayout, ...]:
    read: dict[str, StringLayout] = {}
    for number, data in enumerate(combiner.rows("string")):
        place = (*combiner.place, "string", number)
        table = Table(data, place, f"string {number + 1} of {combiner.what}", combiner.findings)
        table.check_keys((*_STRING_KEYS, *_CABLE_KEYS))
        one = _string(table, combiner, modules)
        if one is None:
            continue
        if one.name in read:
            combiner.findings.problem(
                place, f"{table.what} is described twice; only the first one is used."
            )
            continue
        read[one.name] = one
    return tuple(read.values())


def _string(table: Table, combiner: Table, modules: dict[str, Datasheet]) -> StringLayout | None:
    name = table.text("name")
    if name:
        table.what = f"string '{name}' of {combiner.what}"
    one = StringLayout(
        name=name,
        module=table.text("module"),
        modules_in_series=table.count("modules_in_series", most=MOST_MODULES),
        strings_in_parallel=table.count("strings_in_parallel", 1, most=MOST_STRINGS),
        **_cable(table),
    )
    if one.module and one.module not in modules:
        table.findings.problem((*table.place, "module"), _unknown_module(table, one, modules))
    return one if table.complete else None


def _cable(table: Table) -> dict[str, Any]:
    """The cable's keys; length and cross-section are given together or not at all."""
    length = table.number("cable_length", "m", 0.0)
    section = table.number("cable_cross_section", "mm²", 0.0)
    material = table.text("cable_material", COPPER.name)
    table.within("cable_length", 0.0, 2000.0)
    table.within("cable_cross_section", 0.5, 400.0)
    if material not in CONDUCTORS:
        table.complete = False
        table.findings.problem(
            (*table.place, "cable_material"),
            f"cable_material of {table.what} is '{material}'; write {' or '.join(CONDUCTORS)}.",
        )
    if length > 0.0 and not section > 0.0:
        table.complete = False
        table.findings.problem(
            (*table.place, "cable_length"),
            f"{table.what} has cable_length but no cable_cross_section; "
            "add the line cable_cross_section = a number in mm².",
        )
    return {
        "cable_length": length,
        "cable_cross_section": section,
        "cable_material": material,
    }


def _string_data(one: StringLayout) -> dict[str, object]:
    names = (*_STRING_KEYS, *_CABLE_KEYS) if one.cable_length > 0.0 else _STRING_KEYS
    return {name: getattr(one, name) for name in names}


def _unknown_module(table: Table, one: StringLayout, modules: dict[str, Datasheet]) -> str:
    if (("module", one.module)) in table.findings.lines:
        return (
            f"{table.what} uses module '{one.module}', which could not be read; "
            "mend that module first."
        )
    known = f"known are {', '.join(modules)}" if modules else "none is described"
    return (
        f"{table.what} names module '{one.module}', which is not described ({known}); "
        f"add [module.{one.module}] or correct the name."
    )
