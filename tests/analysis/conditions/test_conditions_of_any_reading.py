"""Whatever is written in a trace file, conditions, checks and uncertainty come out in words.

Readings are drawn from ordinary and impossible values; numpy's warnings are errors here.
"""

import random
from dataclasses import fields
from datetime import UTC, datetime

import numpy as np
import pytest

from tests.analysis.one_trace import resolve_conditions
from viewer.analysis.conditions.condition_sources import IRRADIANCE_SOURCES, ConditionRules
from viewer.analysis.prediction.uncertainty_budget import UncertaintyCase, trace_uncertainties
from viewer.analysis.results.trace_result import Curve
from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.physics.single_diode import curve
from viewer.physics.translation import translate
from viewer.physics.translation.factors_from_model import factors_from_model
from viewer.physics.translation.translated_key_points import translated_key_points
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, Location, Mounting, SiteLayout, StringLayout

NAN, INF = float("nan"), float("inf")
READINGS = (None, None, 0.0, -5.0, 1e-6, 0.8, 25.0, 50.0, 800.0, 1e4, 1e9, NAN, INF, -1e9)
POINTS = (8.0, 8.0, 900.0, 900.0, 0.0, -1.0, NAN, INF, 1e-9, 1e9)
TIMES = (
    None,
    datetime(2024, 6, 1, 12),
    datetime(1, 1, 1),
    datetime(9999, 12, 31, tzinfo=UTC),
)
STRING = StringLayout("1", "M", 20)
SHEET = Datasheet("M", "mono-Si", 11.0, 49.5, 10.3, 41.5, 0.05, -0.28, -0.36, 72)
MODEL = fit_module(11.0, 49.5, 10.3, 41.5, 0.0055, -0.1386, -0.0036, 72, "mono-Si").model
CORRECTIONS = factors_from_model(MODEL)
SWEPT = Curve(*curve(MODEL.operating(800.0, 50.0).in_series(20), 60))
LAYOUTS = [
    SiteLayout("Site", {"M": SHEET}, (Combiner("C", (STRING,)),), place, mounting)
    for place in (None, Location(-90.0, 0.0), Location(40.0, 5.0, 300.0, "Europe/Madrid"))
    for mounting in (None, Mounting(30.0, 180.0), Mounting(0.0, 180.0, tracking=True))
]
RULES = ConditionRules(irradiance_order=IRRADIANCE_SOURCES)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_any_reading(seed: int) -> None:
    draw = random.Random(seed)
    for _ in range(40):
        read = MeasuredConditions(*(draw.choice(READINGS) for _ in fields(MeasuredConditions)))
        points = KeyPoints(*(draw.choice(POINTS) for _ in range(6)))
        trace = Trace("t", SWEPT.voltage, SWEPT.current, "C", "1", draw.choice(TIMES), read)
        model = draw.choice((MODEL, None))
        found = resolve_conditions(trace, draw.choice(LAYOUTS), points, model, RULES)
        assert found.irradiance_from
        assert found.temperature_from
        assert all(one.detail for one in found.checks)
        case = UncertaintyCase(points, points, SWEPT, read, found, STRING, MODEL, CORRECTIONS)
        assert trace_uncertainties([case])[0].measured is not None
        if found.effective_irradiance is None or found.temperature_cell is None:
            continue
        moved = translate(
            SWEPT.voltage,
            SWEPT.current,
            poa_global=found.effective_irradiance,
            temperature_cell=found.temperature_cell,
            corrections=CORRECTIONS.in_series(20),
        )
        assert np.isfinite(translated_key_points(moved)["v_oc"])
