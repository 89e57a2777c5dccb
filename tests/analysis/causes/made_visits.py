"""Visits of one combiner with strings that are known, for tests of findings from traces on.

Module parameters are the program's own, the groups' voltages pvlib's, a conducting bypass diode
taken as -0.5 V.
"""

from datetime import datetime, timedelta

import numpy as np
import pvlib

from viewer.analysis.comparison import AnalysisInputs, compare_groups
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

SHEET = Datasheet("M", "mono-Si", 11.0, 49.5, 10.3, 41.5, 0.05, -0.28, -0.36, 72)
MODULES, DIODES, POINTS = 20, 3, 150
NOON = datetime(2025, 6, 1, 12)
READ = MeasuredConditions(poa_global=900.0, temperature_cell=50.0)


def traced(
    string: str,
    minutes: float = 0.0,
    *,
    current: float = 1.0,
    limited: float | None = None,
    lost_groups: int = 0,
    read: MeasuredConditions = READ,
    note: str | None = None,
    strings: int = 1,
    limited_groups: int = 1,
) -> Trace:
    """A trace at 900 W/m² and 50 °C, so many minutes after noon.

    current: over the predicted; limited: what one group (`limited_groups`) is limited to, over the
    others' current; strings: so many alike in parallel.
    """
    source = f"{string} after {minutes:g} min"
    model = site_models({"M": SHEET}).models["M"].operating(900.0, 50.0)
    photocurrent, saturation, series, shunt, thermal = (float(x) for x in model.as_tuple())
    groups = np.full(MODULES * DIODES - lost_groups, current)
    if limited is not None:
        groups[:limited_groups] = current * limited
    amperes = np.linspace(0.0, 1.001 * photocurrent * current, 4000)
    volts = np.zeros_like(amperes)
    for level in np.unique(groups):
        own = pvlib.pvsystem.v_from_i(
            amperes, photocurrent * level, saturation, series / DIODES, shunt / DIODES,
            thermal / DIODES, method="lambertw",
        )  # fmt: skip
        own = np.where(np.isfinite(own), own, -0.5)
        volts += np.sum(groups == level) * np.maximum(own, -0.5)
    order = np.argsort(volts)
    swept = np.linspace(0.003, 1.0, POINTS) * volts[0]
    rng = np.random.default_rng(sum(source.encode()))
    noise = 0.001 * photocurrent * current * rng.standard_normal(POINTS)
    measured = strings * (np.interp(swept, volts[order], amperes[order]) + noise)
    when = NOON + timedelta(minutes=minutes)
    return Trace(source, swept, measured, "C", string, when, read, note=note)


def analysed(
    *traces: Trace,
    sheet: Datasheet = SHEET,
    inputs: AnalysisInputs | None = None,
    strings_in_parallel: int = 1,
) -> list[TraceResult]:
    """The results of one visit's traces, in their order."""
    names = {trace.string or "" for trace in traces}
    strings = tuple(StringLayout(name, "M", MODULES, strings_in_parallel) for name in names)
    layout = SiteLayout("Site", {"M": sheet}, (Combiner("C", strings),))
    found = compare_groups([traces], layout, site_models(layout.modules), inputs)
    results = [one for one in found if isinstance(one, TraceResult)]
    assert len(results) == len(traces)
    return results
