"""Preferences: typed, versioned, kept in one TOML file that holds only what differs."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

import tomli_w
from platformdirs import user_config_path

from viewer.analysis.before_visit.electrical_limits import RATING_CLASSES
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.analysis.prediction.standard_conditions import PROCEDURE, SINGLE_CURVE_PROCEDURES
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.whole_file import write_whole
from viewer.state.program.assumptions import GROUPS, as_table, from_table

SCHEMA_VERSION = 1
"""Raise it by one when a setting is renamed or changes meaning, with a step in MIGRATIONS."""

MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""Version n -> function that turns the table of version n into that of version n + 1."""


def setting(default: Any, title: str, meaning: str, **limits: Any) -> Any:
    """A field of Settings with the words that a settings pane and the file's reader need."""
    return field(default=default, metadata={"title": title, "meaning": meaning, **limits})


@dataclass(frozen=True)
class Settings:
    theme: str = setting(
        "system",
        "Colours",
        "Light or dark, or as the system has it.",
        choices=("system", "light", "dark"),
    )
    short_below: float = setting(
        0.95,
        "Short below a power ratio of",
        "A string under this power ratio is called short (common practice, no source).",
        least=0.5,
        most=1.0,
    )
    watch_below: float = setting(
        0.97,
        "Watch below a power ratio of",
        "A string under this power ratio, but not short, is marked to watch "
        "(common practice, no source).",
        least=0.5,
        most=1.0,
    )
    grid_range: float = setting(
        10.0,
        "Full colour in the heat-grid at (%)",
        "The deviation at which the colour of the heat-grid is strongest.",
        least=1.0,
        most=50.0,
    )
    styled_curves: int = setting(
        6,
        "Curves with a style of their own",
        "How many selected strings get their own colour, line pattern and marker.",
        least=1,
        most=6,
    )
    plot_dpi: int = setting(
        200,
        "Pictures of plots at (dpi)",
        "Dots per inch of a plot saved as PNG or copied; SVG and PDF are lines at any size.",
        least=50,
        most=1200,
    )
    meter_name: str = setting(
        "", "Measuring set", "Make and model, as it should be named.", text=True
    )
    meter_volts: float = setting(
        0.0,
        "Measuring set, highest voltage (V)",
        "As printed on it; 0 when not given. The electrical limits are held against it.",
        least=0.0,
        most=3000.0,
        zero="not given",
    )
    meter_amps: float = setting(
        0.0,
        "Measuring set, highest current (A)",
        "As printed on it; 0 when not given.",
        least=0.0,
        most=1000.0,
        zero="not given",
    )
    meter_category: str = setting(
        "",
        "Measuring set, category",
        "Measurement category of IEC 61010-2-030 as printed on it, such as CAT III.",
        text=True,
    )
    lowest_temperature: float = setting(
        -10.0,
        "Lowest temperature on record (°C)",
        "Of the place where you work: the highest voltage is computed at it.",
        least=-60.0,
        most=40.0,
    )
    equipment_volts: float = setting(
        1500.0,
        "Equipment rated (V DC)",
        "Voltage class of the equipment that the electrical limits are held against.",
        choices=RATING_CLASSES,
    )
    combiner_amps: float = setting(
        0.0,
        "Combiner rated (A)",
        "Current rating of the combiner; 0 when not given.",
        least=0.0,
        most=5000.0,
        zero="not given",
    )
    energy_price: float = setting(
        0.0,
        "Price of a kWh",
        "What a lost kilowatt-hour costs; 0 when not given.",
        least=0.0,
        most=100000.0,
        decimals=4,
        zero="not given",
    )
    energy_currency: str = setting("", "Currency", "What the price is in.", text=True)
    stated_yield: float = setting(
        0.0,
        "Yield (kWh a year per kW)",
        "What a sound plant at your site yields in a year; 0 when not given.",
        least=0.0,
        most=4000.0,
        zero="not given",
    )
    typical_year: str = setting(
        "",
        "Typical year",
        "File of a year's hourly irradiance: a table with a column poa_global, or EPW or TMY3.",
        text=True,
    )
    decimal_mark: str = setting(
        "system",
        "Decimal mark",
        "Of the boxes that numbers are typed into; tables, pictures and files always have a point.",
        choices=("system", "point", "comma"),
    )
    translation_procedure: str = setting(
        str(PROCEDURE),
        "Procedure of IEC 60891",
        "By which curves are translated to STC; every result names it.",
        choices=tuple(str(number) for number in SINGLE_CURVE_PROCEDURES),
    )
    thresholds: ConditionThresholds = setting(  # noqa: RUF009 - a frozen record
        ConditionThresholds(),
        "Conditions of a sweep",
        "Limits that the recorded conditions are held against; results stay whatever fails.",
    )
    uncertainties: InputUncertainties = setting(  # noqa: RUF009 - a frozen record
        InputUncertainties(),
        "Standard uncertainties (k = 1)",
        "What the uncertainty of every result is computed from.",
    )
    recent_folders: tuple[str, ...] = setting((), "Recent folders", "Newest first.")
    window_layout: str = setting("", "Window layout", "Where the panes lie, as Qt saves it.")
    window_geometry: str = setting("", "Window geometry", "Size and place, as Qt saves it.")

    @property
    def analysis_inputs(self) -> AnalysisInputs:
        """What the analysis takes as given, after these settings."""
        return AnalysisInputs(
            uncertainties=self.uncertainties,
            procedure=int(self.translation_procedure),
            thresholds=self.thresholds,
        )

    @property
    def verdict_limits(self) -> tuple[float, float]:
        """What decides of a trace's standing; a change of anything else leaves it as it was."""
        return self.short_below, self.watch_below

    def with_recent(self, folder: str, keep: int = 8) -> "Settings":
        rest = tuple(one for one in self.recent_folders if one != folder)
        return replace(self, recent_folders=(folder, *rest)[:keep])


def settings_path() -> Path:
    return user_config_path("curvewright", appauthor=False) / "settings.toml"


def as_toml(settings: Settings) -> str:
    """The settings that differ from the defaults, as TOML."""
    differing = {
        one.name: _written(one.name, getattr(settings, one.name))
        for one in fields(Settings)
        if getattr(settings, one.name) != one.default
    }
    return tomli_w.dumps({"schema_version": SCHEMA_VERSION, **differing})


def _written(name: str, value: Any) -> Any:
    return as_table(name, value) if name in GROUPS else value


def from_toml(text: str) -> tuple[Settings, tuple[str, ...]]:
    """Settings from TOML, and one sentence for each entry that could not be used."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        return Settings(), (f"The settings are not valid TOML ({problem}); defaults are used.",)
    version = table.pop("schema_version", SCHEMA_VERSION)
    while isinstance(version, int) and version in MIGRATIONS:
        table = MIGRATIONS[version](table)
        version += 1
    problems: list[str] = []
    used: dict[str, Any] = {}
    known = {one.name: one for one in fields(Settings)}
    for name, value in table.items():
        if name not in known:
            problems.append(f"The setting {name!r} is not known and was left out.")
            continue
        if name in GROUPS and isinstance(value, dict):
            used[name], wrong_ones = from_table(name, getattr(Settings(), name), value)
            problems += wrong_ones
            continue
        checked, wrong = _checked(name, value, known[name].default, known[name].metadata)
        if wrong:
            problems.append(wrong)
        else:
            used[name] = checked
    return Settings(**used), tuple(problems)


def _checked(name: str, value: Any, default: Any, limits: Any) -> tuple[Any, str]:
    """The value in the type of its default, and what is wrong with it ("" when nothing)."""
    if isinstance(default, float) and isinstance(value, int) and not isinstance(value, bool):
        value = float(value)
    if isinstance(default, tuple) and isinstance(value, list):
        value = tuple(str(one) for one in value)
    if type(value) is not type(default):
        return None, f"The setting {name!r} must be like {default!r}, not {value!r}."
    if "choices" in limits and value not in limits["choices"]:
        return (
            None,
            f"The setting {name!r} must be one of {', '.join(map(str, limits['choices']))}.",
        )
    if "least" in limits and not limits["least"] <= value <= limits["most"]:
        return None, (
            f"The setting {name!r} must lie from {limits['least']} to {limits['most']}, "
            f"not at {value}."
        )
    return value, ""


def read_settings(path: Path) -> tuple[Settings, tuple[str, ...]]:
    """The settings kept in a file; the defaults when there is none."""
    try:
        return from_toml(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings(), ()
    except (OSError, UnicodeDecodeError) as problem:
        return Settings(), (f"The settings in {path} cannot be read ({problem}).",)


def settings_of_file(path: Path) -> Settings:
    """The settings of a file that somebody named. Raises ValueError when any of it is of no use."""
    try:
        text = path.read_text(encoding="utf-8")
        tomllib.loads(text)
    except OSError as problem:
        raise ValueError(f"{path} cannot be read: {problem.strerror}") from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        raise ValueError(f"{path} is not valid TOML ({problem}); export settings anew") from None
    settings, problems = from_toml(text)
    if problems:
        raise ValueError(f"{path}: {problems[0]}")
    return settings


def write_settings(path: Path, settings: Settings) -> None:
    """Keep the settings; the file is replaced in one move so that it is never half written."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, as_toml(settings))
