"""Strings of many module types are computed in one go, and come out as each does alone."""

from dataclasses import replace

import numpy as np
import pytest

from viewer.analysis.comparison import compare_groups
from viewer.analysis.prediction.prediction import predict
from viewer.analysis.prediction.preparation import prepare
from viewer.analysis.prediction.site_models import site_models
from viewer.analysis.prediction.standard_conditions import translate_to_standard
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.datasheet.module_model import ModuleModel
from viewer.physics.single_diode import curve
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

KINDS = ("mono-Si", "multi-Si", "CdTe", "n-type-Si", "mono-Si", "CIGS")
MONO = Datasheet("", "mono-Si", 11.0, 49.5, 10.3, 41.5, 0.05, -0.28, -0.36, 72)
CDTE = Datasheet("", "CdTe", 2.6, 88.0, 2.3, 68.0, 0.04, -0.28, -0.32, 108)
CIGS = Datasheet("", "CIGS", 2.2, 110.0, 1.95, 85.0, 0.01, -0.3, -0.36, 172)
SHEETS = {
    f"M{k}": replace(
        {"CdTe": CDTE, "CIGS": CIGS}.get(kind, replace(MONO, technology=kind)),
        key=f"M{k}",
        beta_voc=-0.27 - 0.005 * k,
    )
    for k, kind in enumerate(KINDS)
}
STRINGS = tuple(
    StringLayout(f"S{k}", f"M{k % len(KINDS)}", 12 + k, 1 + k % 2, 30.0 * k, 4.0) for k in range(8)
)
LAYOUT = SiteLayout("Site", SHEETS, (Combiner("C", STRINGS),))
MODELS = site_models(SHEETS)


def _trace(k: int) -> Trace:
    """Of string k, 4 % low in current, with a number of points of its own."""
    string = STRINGS[k]
    poa, cell = 600.0 + 50.0 * k, 30.0 + 3.0 * k
    device = MODELS.models[string.module].operating(0.96 * poa, cell)
    device = device.in_series(string.modules_in_series).in_parallel(string.strings_in_parallel)
    voltage, current = curve(device, 40 + 25 * k)
    read = MeasuredConditions(poa_global=poa, temperature_cell=cell)
    return Trace(f"t{k}", voltage, current, "C", string.name, None, read)


TRACES = [_trace(k) for k in range(len(STRINGS))]


def _numbers(one: TraceResult) -> np.ndarray:
    said = one.uncertainty
    points = (one.predicted, one.translated, said.measured, said.predicted, said.translated)
    assert all(part is not None for part in points)
    at_stc = [float(x) for x in one.model_at_stc.as_tuple()]
    found = [value for part in points for value in part.as_dict().values()]
    return np.array([*found, said.power_ratio, one.conditions.temperature_from_voc, *at_stc])


def test_each_string_comes_out_as_it_does_alone() -> None:
    assert set(MODELS.models) == set(SHEETS)
    together = compare_groups([TRACES], LAYOUT, MODELS)
    for k, trace in enumerate(TRACES):
        (alone,) = compare_groups([[trace]], LAYOUT, MODELS)
        assert _numbers(together[k]) == pytest.approx(_numbers(alone), rel=1e-7)
        assert together[k].translation == alone.translation
        assert together[k].uncertainty.budget_shares == pytest.approx(
            alone.uncertainty.budget_shares, rel=1e-6, abs=1e-9
        )


def test_more_types_take_no_more_evaluations(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []
    operating = ModuleModel.operating

    def counted(self: ModuleModel, *conditions: object) -> object:
        asked.append(1)
        return operating(self, *conditions)

    monkeypatch.setattr(ModuleModel, "operating", counted)

    def evaluations(places: tuple[int, ...]) -> int:
        asked.clear()
        prepared, _ = prepare([TRACES[k] for k in places], LAYOUT, MODELS)
        assert None not in predict(prepared)
        assert None not in translate_to_standard(prepared, MODELS)
        return len(asked)

    assert evaluations((0, 1, 3, 4)) <= evaluations((0, 6)) + 1


def test_the_source_of_a_modules_factors_stays_with_its_strings() -> None:
    told = replace(MODELS.corrections["M1"], source="found by hand")
    models = replace(MODELS, corrections={**MODELS.corrections, "M1": told})
    prepared, _ = prepare(TRACES, LAYOUT, models)
    words = [one.procedure for one in translate_to_standard(prepared, models) if one]
    by_hand = ["found by hand" in text for text in words]
    assert by_hand == [string.module == "M1" for string in STRINGS]
