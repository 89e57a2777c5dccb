"""Severities found on curves that ngspice computed: the faults put into the demo site.

The traces in example_traces were made by tests/example_site from circuits that ngspice solved,
with modules that differ, ageing, noise and sensors that are a little wrong; plan.toml says how
bad each fault is.
"""

import pytest

from viewer.analysis.lesson.string_makeup import makeup_of
from viewer.physics.cell_string.severity_fit import MeasuredCurve, fit_severity, ranked
from viewer.physics.conditions import cell_from_module_temperature
from viewer.physics.sweep_cleaning import clean_sweep
from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.resource_folder import example_folder
from viewer.site_data.scenario_file import scenarios

FIRST, SECOND = "2024-06-commissioning", "2025-06-first-year"
CABLE = {"CB-A": 0.24, "CB-B": 0.42, "CB-C": 0.35}


@pytest.fixture(scope="module")
def folder():
    return open_visit_folder(example_folder())


def measured(folder, visit, string):
    combiner = string[:4]
    (trace,) = read_source(folder, f"{visit}/{combiner}/{string}.csv")
    voltage, current, *_ = clean_sweep(trace.voltage, trace.current)
    read = trace.conditions
    temperature = float(cell_from_module_temperature(read.temperature_module, read.poa_global))
    layout = folder.layout.string(combiner, string)
    makeup = makeup_of(
        folder.layout.modules[layout.module], layout.modules_in_series, CABLE[combiner]
    )
    return MeasuredCurve(voltage, current, read.poa_global, temperature), makeup


@pytest.mark.parametrize(
    ("visit", "string", "key", "severity", "within", "extent"),
    [
        (FIRST, "CB-A-S07", "hard_shade", 55.0, 3.0, 4),
        (SECOND, "CB-C-S08", "hard_shade", 70.0, 3.0, 2),
        (FIRST, "CB-B-S03", "dead_cell", 62.0, 6.0, 1),
        (SECOND, "CB-B-S12", "dead_cell", 45.0, 6.0, 1),
        (SECOND, "CB-A-S11", "corroded_connector", 2.4, 0.5, None),
        (SECOND, "CB-B-S05", "shorted_bypass", 2.0, 0.1, None),
        (FIRST, "CB-B-S09", "wrong_temperature_reading", -23.0, 3.0, None),
        (SECOND, "CB-C-S15", "uniform_soiling", 12.0, 3.0, None),
    ],
)
def test_severity_is_what_was_put_in(folder, visit, string, key, severity, within, extent):
    fit = fit_severity(scenarios()[key], *measured(folder, visit, string))
    assert fit.severity == pytest.approx(severity, abs=within)
    assert fit.extent == extent


@pytest.mark.parametrize(
    ("visit", "string", "key"),
    [
        (FIRST, "CB-A-S01", "healthy"),
        (FIRST, "CB-A-S07", "hard_shade"),
        (SECOND, "CB-A-S11", "corroded_connector"),
        (FIRST, "CB-B-S09", "wrong_temperature_reading"),
    ],
)
def test_the_fault_put_in_explains_the_curve_best(folder, visit, string, key):
    curve, makeup = measured(folder, visit, string)
    fits = ranked(fit_severity(one, curve, makeup) for one in scenarios().values())
    assert fits[0].scenario.key == key
