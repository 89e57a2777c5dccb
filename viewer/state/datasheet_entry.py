"""A datasheet being entered or picked from the list: judged as it is typed, then kept."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import tomli_w

from viewer.analysis.prediction.site_models import fit_datasheet
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.datasheet.datasheet_fit import ModuleFit
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.nomenclature import COEFFICIENTS, Quantity, counted, quantity, with_minus
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.datasheet_checks import doubts, errors
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.site_data.site_toml import FILE_NAME, module_data, site_toml_text
from viewer.site_data.whole_file import write_whole
from viewer.state.strings.power_of_ten import exponent_of, with_power

NUMBERS: tuple[Quantity, ...] = (
    *(quantity(name) for name in ("i_sc", "v_oc", "i_mp", "v_mp")),
    *COEFFICIENTS,
)
"""Named as in site.toml."""

COUNTS: tuple[tuple[str, str], ...] = (
    ("cells_in_series", "Cells in one path"),
    ("parallel_paths", "Paths (half-cut: 2)"),
    ("bypass_diodes", "Bypass diodes"),
)


@dataclass(frozen=True, eq=False)
class Judgement:
    """What can be said of a datasheet: sentences, and the model if there is one."""

    problems: tuple[str, ...]
    remarks: tuple[str, ...]
    fit: ModuleFit | None

    @property
    def usable(self) -> bool:
        return self.fit is not None and self.fit.model is not None and not self.problems


def judge(datasheet: Datasheet) -> Judgement:
    """Contradictions explained, one sentence each; else the fit with what was assumed."""
    wrong = errors(datasheet)
    if wrong:
        return Judgement(wrong, (), None)
    fit = fit_datasheet(datasheet)
    return Judgement(fit.problems, (*doubts(datasheet), *fit.remarks), fit)


def model_lines(model: ModuleModel) -> list[tuple[str, str]]:
    """The parameters of a model at STC, name and value with unit."""
    at_stc = model.reference
    saturation = float(at_stc.saturation_current)
    saturation_words = with_power(saturation, exponent_of(saturation), 3)
    return [
        ("Photocurrent", f"{float(at_stc.photocurrent):.4f} A"),
        ("Saturation current", f"{saturation_words} A"),
        ("Series resistance", f"{float(at_stc.resistance_series):.4f} Ω"),
        ("Shunt resistance", f"{float(at_stc.resistance_shunt):.0f} Ω"),
        ("nNsVth", f"{float(at_stc.nNsVth):.4f} V"),
        ("Diode factor", f"{float(model.diode_factor_ref):.3f}"),
        ("Diode factor's drift", _signed(1e3 * float(model.diode_factor_slope), 3, "/1000 K")),
        ("Band gap", f"{float(model.band_gap):.3f} eV"),
    ]


def residual_lines(fit: ModuleFit, datasheet: Datasheet) -> list[tuple[str, str]]:
    """How far the model lies from each printed value."""
    lines = [
        (quantity(name).label, _signed(100 * fit.residuals[name], 4, "%"))
        for name in ("i_sc", "v_oc", "i_mp", "v_mp", "p_mp")
    ]
    beta = 100 * fit.residuals["beta_voc"] / datasheet.v_oc
    gamma = 100 * fit.residuals["gamma_pmp"]
    return [
        *lines,
        ("Coefficient of Voc", _signed(beta, 4, "%/K")),
        ("Coefficient of Pmp", _signed(gamma, 4, "%/K")),
    ]


def _signed(value: float, decimals: int, unit: str) -> str:
    return with_minus(f"{value:+.{decimals}f} {unit}")


def add_module(folder: Path, datasheet: Datasheet, layout: SiteLayout | None) -> str:
    """Appends the module to the folder's site.toml, leaving what stands there as it is.

    Returns one sentence. Raises ValueError when the key is taken or empty, OSError when the
    file cannot be written.
    """
    if not datasheet.key.strip():
        raise ValueError("Give the module a key: the word by which strings name it.")
    if layout is not None and datasheet.key in layout.modules:
        raise ValueError(f"site.toml has a module {datasheet.key} already: choose another key.")
    file = folder / FILE_NAME
    table = tomli_w.dumps({"module": {datasheet.key: module_data(datasheet)}})
    before = file.read_text(encoding="utf-8") if file.is_file() else ""
    joint = "\n" if before.endswith("\n") or not before else "\n\n"
    write_whole(file, f"{before}{joint}{table}" if before else table)
    return f"Module {datasheet.key} is in {file}; strings may name it now."


def describe_traces(
    folder: Path, results: Iterable[TraceResult], datasheet: Datasheet, modules_in_series: int
) -> str:
    """Writes a site.toml for a folder that has none: every traced string with one module type.

    Returns one sentence. Raises ValueError when there is one already, OSError when it cannot
    be written.
    """
    file = folder / FILE_NAME
    if file.exists():
        raise ValueError(f"{file} exists already; add the module to it instead.")
    names: dict[str, dict[str, None]] = {}
    for one in results:
        place = names.setdefault(one.trace.combiner or "combiner", {})
        place[one.trace.string or one.trace.source] = None
    layout = SiteLayout(
        folder.resolve().name,
        {datasheet.key: datasheet},
        tuple(
            Combiner(
                box,
                tuple(StringLayout(name, datasheet.key, modules_in_series) for name in strings),
            )
            for box, strings in names.items()
        ),
    )
    write_whole(file, site_toml_text(layout))
    count = sum(len(strings) for strings in names.values())
    modules = counted(modules_in_series, "module")
    return f"{file} lists {counted(count, 'string')} of {modules}: check them."
