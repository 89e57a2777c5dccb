"""What to expect at a string right now, and what a measured Voc says about missing modules."""

from dataclasses import dataclass, replace

from viewer.physics.conditions import cell_from_module_temperature
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES, counted
from viewer.physics.single_diode import DiodeParameters, exact_key_points
from viewer.physics.uncertainty.prediction_uncertainty import predicted_uncertainty
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import StringLayout

TEMPERATURE_UNCERTAINTY = 2.0
"""Standard uncertainty of the cell temperature from one reading, K (common practice, no source)."""

V_OC_TOLERANCE = 0.005
"""Relative standard uncertainty of a string's Voc at known temperature: spread of modules and
instrument together (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Expectation:
    """The string as its datasheet predicts it at typed-in conditions."""

    poa_global: float
    temperature_cell: float
    key_points: KeyPoints
    parameters: DiodeParameters


def expect_string(
    model: ModuleModel,
    string: StringLayout,
    poa_global: float,
    temperature_module: float | None = None,
    temperature_cell: float | None = None,
) -> Expectation:
    """Key points of the whole string at an irradiance [W/m²] and a temperature [°C].

    Give the reading at the module's back or the cell temperature. Raises ValueError when
    neither is given or the irradiance is not above zero.
    """
    if poa_global <= 0:
        raise ValueError(f"irradiance must be above 0 W/m², not {poa_global:g}")
    if temperature_cell is None:
        if temperature_module is None:
            raise ValueError("give the temperature at the module's back or of the cells")
        temperature_cell = float(cell_from_module_temperature(temperature_module, poa_global))
    parameters = (
        model.operating(poa_global, temperature_cell)
        .in_series(string.modules_in_series)
        .in_parallel(string.strings_in_parallel)
    )
    found = exact_key_points(parameters)
    points = KeyPoints(*(float(found[name]) for name in KEY_POINT_NAMES))
    return Expectation(poa_global, temperature_cell, points, parameters)


def expected_within(
    expectation: Expectation,
    model: ModuleModel,
    string: StringLayout,
    crystalline: bool = True,
    inputs: InputUncertainties | None = None,
) -> KeyPoints:
    """Expanded uncertainty (k = 2) of each expected key point, in its unit: readings of irradiance
    and temperature, datasheet, spread of the modules and the model itself."""
    inputs = inputs or InputUncertainties()
    if not crystalline:
        inputs = replace(inputs, model=inputs.model_thin_film)
    found = predicted_uncertainty(
        model,
        expectation.poa_global,
        expectation.temperature_cell,
        replace(inputs, temperature_cell=TEMPERATURE_UNCERTAINTY),
        string.modules_in_series,
        string.strings_in_parallel,
    )
    return KeyPoints(*(float(found.expanded(name)) for name in KEY_POINT_NAMES))


@dataclass(frozen=True)
class VoltageDeficit:
    """How far a measured Voc lies below the expected one, in modules and bypass groups."""

    volts: float
    """Expected minus measured, V."""
    standard_uncertainty: float
    modules: float
    """The deficit in modules, as it comes out; `bypass_groups` likewise."""
    bypass_groups: float
    whole_groups: int | None
    """The whole number of groups that explains it; None when the uncertainty allows several."""
    text: str


def read_voltage_deficit(
    measured_v_oc: float,
    expectation: Expectation,
    datasheet: Datasheet,
    string: StringLayout,
    temperature_uncertainty: float = TEMPERATURE_UNCERTAINTY,
) -> VoltageDeficit:
    """What a measured string Voc [V] says at the expectation's conditions.

    A whole number of groups is named only where twice the standard uncertainty is less than
    half a group. Raises ValueError for a voltage that is not above zero.
    """
    if measured_v_oc <= 0:
        raise ValueError(f"a measured Voc must be above 0 V, not {measured_v_oc:g}")
    expected = expectation.key_points.v_oc
    per_group = expected / (string.modules_in_series * datasheet.bypass_diodes)
    by_temperature = (
        datasheet.beta_voc / 100 * datasheet.v_oc * string.modules_in_series
    ) * temperature_uncertainty
    uncertainty = (by_temperature**2 + (V_OC_TOLERANCE * expected) ** 2) ** 0.5
    volts = expected - measured_v_oc
    groups = volts / per_group
    whole = round(groups) if 2 * uncertainty < per_group / 2 else None
    return VoltageDeficit(
        volts,
        uncertainty,
        groups / datasheet.bypass_diodes,
        groups,
        whole,
        _deficit_text(volts, uncertainty, per_group, whole, datasheet.bypass_diodes),
    )


def _deficit_text(
    volts: float, uncertainty: float, per_group: float, whole: int | None, groups_a_module: int
) -> str:
    differs = f"{abs(volts):.1f} V {'below' if volts >= 0 else 'above'} the expected Voc"
    give = f"(± {2 * uncertainty:.1f} V, k = 2)"
    if abs(volts) <= 2 * uncertainty:
        return f"{differs} {give}: as expected, no module is missing by this reading alone"
    if volts < 0:
        return f"{differs} {give}: more modules than listed, or cells colder than the reading"
    if whole is None:
        low = max(0.0, (volts - 2 * uncertainty) / per_group)
        high = (volts + 2 * uncertainty) / per_group
        return (
            f"{differs} {give}: between {low:.1f} and {high:.1f} bypass groups; a Voc reading "
            "of single modules would settle the number"
        )
    modules, rest = divmod(whole, groups_a_module)
    parts = [counted(modules, "module")] if modules else []
    parts += [counted(rest, "bypass group")] if rest else []
    if not parts:
        return f"{differs} {give}: less than one bypass group"
    return f"{differs} {give}: {' and '.join(parts)} missing, shorted or bypassed"
