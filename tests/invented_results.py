"""Invented results for tests of what shows them: curves by pvlib, not by the code under test."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from pvlib.pvsystem import i_from_v, singlediode

from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.results.trace_result import (
    CandidateCause,
    Check,
    Curve,
    TraceResult,
    UsedConditions,
)
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace, Unreadable
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.state.program.jobs import Progress
from viewer.state.session import Arrival

MODULE = Datasheet("INV", "mono-Si", 9.5, 46.0, 9.0, 38.0, 0.05, -0.29, -0.37, cells_in_series=72)
MODULES = 20
N_NS_VTH = MODULES * 72 * 0.0257 * 1.05
FIRST_DAY = datetime(2024, 6, 3, 11, 0)
SECOND_DAY = datetime(2025, 6, 5, 11, 0)


def invented_curve(photocurrent: float, series: float = 6.0, points: int = 200) -> Curve:
    """A string's curve by pvlib's Lambert W solution."""
    found = singlediode(photocurrent, 2e-9, series, 8000.0, N_NS_VTH)
    voltage = np.linspace(0.0, float(found["v_oc"]), points)
    device = (photocurrent, 2e-9, series, 8000.0, N_NS_VTH)
    return Curve(voltage, np.asarray(i_from_v(voltage, *device)))


def points_of(curve: Curve) -> KeyPoints:
    power = curve.voltage * curve.current
    best = int(np.argmax(power))
    i_sc, v_oc = float(curve.current[0]), float(curve.voltage[-1])
    p_mp = float(power[best])
    return KeyPoints(
        i_sc,
        v_oc,
        float(curve.current[best]),
        float(curve.voltage[best]),
        p_mp,
        p_mp / (i_sc * v_oc),
    )


def invented_result(
    combiner: str = "C1",
    string: str = "S1",
    at: datetime = FIRST_DAY,
    loss: float = 0.0,
    with_prediction: bool = True,
    cause: str = "none",
    failed_check: bool = False,
) -> TraceResult:
    """One string that lost a part of its current; a name that tells combiner, string and day."""
    measured = invented_curve(9.2 * (1 - loss))
    predicted = invented_curve(9.2)
    translated = Curve(measured.voltage * 1.06, measured.current * 1.03)
    trace = Trace(
        f"{at:%Y}/{combiner}/{string}.csv",
        measured.voltage,
        measured.current,
        combiner,
        string,
        at,
        MeasuredConditions(poa_global=968.0, temperature_module=47.1),
    )
    if not with_prediction:
        return TraceResult(
            trace,
            points_of(measured),
            measured,
            UsedConditions(None, None),
            missing=("The prediction needs the irradiance, which the file does not state.",),
        )
    checks = (
        Check("Irradiance is high enough", not failed_check, "968 W/m², at least 400 W/m²"),
        Check("Irradiance was steady", True, "changed by 0.2 % during the sweep"),
    )
    return TraceResult(
        trace,
        points_of(measured),
        measured,
        UsedConditions(968.0, 50.0, "back of module plus 2.9 K", "reading in the file", checks),
        points_of(predicted),
        predicted,
        points_of(translated),
        translated,
        "IEC 60891 procedure 2",
        points_of(measured).p_mp / points_of(predicted).p_mp,
        0.03,
        candidate_causes=(CandidateCause(cause, 0.9, "invented", "none"),),
    )


def invented_layout(combiners: int = 2, strings: int = 4) -> SiteLayout:
    return SiteLayout(
        "Invented site",
        {"INV": MODULE},
        tuple(
            Combiner(
                f"C{box + 1}",
                tuple(StringLayout(f"S{one + 1}", "INV", MODULES) for one in range(strings)),
            )
            for box in range(combiners)
        ),
    )


def invented_visits(combiners: int = 2, strings: int = 4) -> tuple[TraceResult, ...]:
    """Two visits a year apart; in the second, S2 of C1 is short and S3 has a failed check."""
    results: list[TraceResult] = []
    for at in (FIRST_DAY, SECOND_DAY):
        second = at == SECOND_DAY
        for box in range(1, combiners + 1):
            for one in range(1, strings + 1):
                short = second and (box, one) == (1, 2)
                results.append(
                    invented_result(
                        f"C{box}",
                        f"S{one}",
                        at + timedelta(minutes=one),
                        0.12 if short else 0.002 * one,
                        cause="soiling" if short else "none",
                        failed_check=second and (box, one) == (1, 3),
                    )
                )
    return tuple(results)


BAD_FILE = Unreadable("2025/C2/S9.csv", "line 12: the current 'abc' is not a number.")


class InventedOpener:
    """Stands for reading and analysing: yields results in batches, or fails as told."""

    def __init__(
        self,
        results: Sequence[TraceResult],
        layout: SiteLayout | None = None,
        unreadable: Sequence[Unreadable] = (BAD_FILE,),
        batch: int = 5,
        problem: str = "",
    ) -> None:
        self.results, self.layout = tuple(results), layout or invented_layout()
        self.unreadable, self.batch, self.problem = tuple(unreadable), batch, problem
        self.opened: list[Path] = []

    def __call__(
        self, path: Path, inputs: AnalysisInputs | None = None
    ) -> Iterator[tuple[Progress, Arrival]]:
        self.opened.append(path)
        self.inputs = inputs
        if self.problem:
            raise ValueError(self.problem)
        total = len(self.results)
        yield Progress(0, total, "reading"), Arrival(self.layout, unreadable=self.unreadable)
        for start in range(0, total, self.batch):
            part = self.results[start : start + self.batch]
            yield Progress(start + len(part), total, "comparing"), Arrival(results=part)
