"""A site's string as the physics of cells takes it, and a traced curve as of one string."""

from viewer.analysis.prediction.site_models import fit_datasheet
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.cell_string.cell_fields import StringMakeup
from viewer.physics.cell_string.cells import ModuleWiring
from viewer.physics.cell_string.severity_fit import MeasuredCurve
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import StringLayout


def makeup_of(
    datasheet: Datasheet,
    modules_in_series: int,
    resistance: float = 0.0,
    spread_seed: int | None = None,
) -> StringMakeup:
    """A string of that module, behind `resistance` [ohm] of cable and connectors.

    Raises ValueError in words if the datasheet contradicts itself or its cells do not divide
    into its bypass groups.
    """
    fit = fit_datasheet(datasheet)
    if fit.model is None:
        raise ValueError(" ".join(fit.problems))
    wiring = ModuleWiring(
        datasheet.cells_in_series, datasheet.parallel_paths, datasheet.bypass_diodes
    )
    return StringMakeup(fit.model, modules_in_series, wiring, resistance, spread_seed=spread_seed)


def curve_of_one_string(result: TraceResult, string: StringLayout) -> MeasuredCurve:
    """The traced curve as that of one string: a harness's current is shared evenly.

    Raises ValueError in words where irradiance or cell temperature is not known.
    """
    conditions = result.conditions
    poa, temperature = conditions.poa_global, conditions.temperature_cell
    if poa is None or temperature is None:
        raise ValueError(
            "irradiance and cell temperature of the trace must be known to lay a scenario over it"
        )
    return MeasuredCurve(
        result.measured_curve.voltage,
        result.measured_curve.current / string.strings_in_parallel,
        conditions.effective_irradiance or poa,
        temperature,
    )
