"""One invented module traced at several conditions, by pvlib's De Soto model."""

from datetime import datetime
from pathlib import Path

import numpy as np

from tests.physics.translation.desoto_curves import measured
from viewer.analysis.device.usable_traces import usable_traces
from viewer.analysis.prediction.preparation import Prepared, prepare
from viewer.analysis.prediction.site_models import SiteModels
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import SiteLayout

CONDITIONS = ((980, 28), (1010, 55), (760, 35), (640, 52), (880, 61), (450, 30))
NOWHERE = SiteLayout("Invented bench", {}, ())
NO_MODELS = SiteModels({}, {}, {}, {})


def traced(poa: float, cell: float, seed: int = 0, noise: float = 2e-4, modules: int = 1) -> Trace:
    """A sweep with noise of both readings; of several such modules in series."""
    voltage, current = measured(poa, cell, 120)
    random = np.random.default_rng(seed)
    return Trace(
        f"module_{seed}.csv",
        modules * voltage * (1.0 + random.normal(0.0, noise, voltage.size)),
        current + random.normal(0.0, 10.0 * noise, voltage.size),
        "bench",
        "module",
        datetime(2025, 6, 24, 10, seed),
        MeasuredConditions(poa_global=poa, temperature_cell=cell),
    )


def usable(conditions=CONDITIONS, **how: float) -> list[Prepared]:
    traces = [traced(*one, seed, **how) for seed, one in enumerate(conditions)]
    prepared, unusable = prepare(traces, NOWHERE, NO_MODELS)
    assert not unusable
    found, left_out = usable_traces(prepared)
    assert left_out == []
    return found


def write(folder: Path, conditions=CONDITIONS) -> Path:
    """The traces as files of a folder without a site.toml."""
    folder.mkdir(parents=True, exist_ok=True)
    for seed, one in enumerate(conditions):
        trace = traced(*one, seed)
        keys = {
            "combiner": "bench",
            "string": "module",
            "measured_at": trace.measured_at.isoformat(),
            "poa_global": one[0],
            "temperature_cell": one[1],
        }
        head = "".join(f"# {key}: {value}\n" for key, value in keys.items())
        points = zip(trace.voltage, trace.current, strict=True)
        text = "".join(f"{v:.4f},{i:.4f}\n" for v, i in points)
        (folder / trace.source).write_text(f"{head}voltage,current\n{text}", encoding="utf-8")
    return folder


def true_points(poa: float, cell: float) -> dict[str, float]:
    voltage, current = measured(poa, cell, 20_000)
    power = voltage * current
    best = int(np.argmax(power))
    return {
        "i_sc": float(current[0]),
        "v_oc": float(voltage[-1]),
        "i_mp": float(current[best]),
        "v_mp": float(voltage[best]),
        "p_mp": float(power[best]),
    }
