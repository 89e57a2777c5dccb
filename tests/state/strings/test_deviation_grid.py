from dataclasses import replace

import numpy as np
import pytest

from tests.invented_results import invented_layout, invented_result
from viewer.analysis.results.trace_result import Signature
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.state.strings.deviation_grid import deviation_grid

P_MP = KEY_POINT_NAMES.index("p_mp")


def results(*losses: float, with_prediction: bool = True):
    return [
        invented_result("C1", f"S{n}", loss=loss, with_prediction=with_prediction)
        for n, loss in enumerate(losses, 1)
    ]


def test_against_the_prediction_it_is_the_power_ratio_less_one():
    traces = results(0.0, 0.1)
    grid = deviation_grid(traces, "C1")
    wanted = [100 * (one.power_ratio - 1) for one in traces]
    assert grid.deviation[:, P_MP] == pytest.approx(wanted)
    assert grid.measured[1, 0] == traces[1].measured.i_sc


def test_against_the_median_the_middle_string_has_none():
    grid = deviation_grid(results(0.0, 0.1, 0.2), "C1", reference="median")
    assert grid.deviation[1] == pytest.approx(np.zeros(6))
    assert grid.deviation[0, P_MP] > 0 > grid.deviation[2, P_MP]


def test_without_predictions_measured_values_are_compared_and_the_words_say_so():
    traces = results(0.0, 0.1, 0.2, with_prediction=False)
    assert np.isnan(deviation_grid(traces, "C1").deviation).all()
    grid = deviation_grid(traces, "C1", reference="median")
    expected = 100 * (traces[0].measured.i_sc / traces[1].measured.i_sc - 1)
    assert grid.deviation[0, 0] == pytest.approx(expected)
    assert "no prediction" in grid.basis


def test_strings_of_the_layout_without_a_trace_have_empty_rows_in_their_place():
    traces = [one for one in results(0.0, 0.0, 0.0) if one.trace.string != "S2"]
    grid = deviation_grid(traces, "C1", invented_layout())
    assert [(row.string, row.trace_id is None) for row in grid.rows] == [
        ("S1", False),
        ("S2", True),
        ("S3", False),
        ("S4", True),
    ]
    assert np.isnan(grid.measured[1]).all()


def test_nothing_measured_gives_an_empty_grid():
    grid = deviation_grid([], "C1", reference="median")
    assert grid.rows == ()
    assert grid.deviation.shape == (0, 6)


def test_suspects_come_first_when_asked_and_signatures_have_columns():
    stair = Signature("step", 0.4, "of i_sc", "One group.", {"loss": 100.0})
    more = Signature("step", 0.7, "of i_sc", "Another group.", {"loss": 50.0})
    warm = Signature("inputs_suspect", 4.5, "K", "Warmer.", {"input": "temperature_cell"})
    sound = invented_result("C1", "S1")
    bad = replace(
        invented_result("C1", "S2", loss=0.2, cause="shading"), signatures=(stair, more, warm)
    )
    slight = invented_result("C1", "S3", loss=0.05, cause="soiling")
    layout = invented_layout(1, 4)
    by_name = deviation_grid([sound, bad, slight], "C1", layout)
    assert [row.string for row in by_name.rows] == ["S1", "S2", "S3", "S4"]
    assert by_name.kinds == ("step", "inputs_suspect")
    grid = deviation_grid([sound, bad, slight], "C1", layout, suspects_first=True)
    assert [row.string for row in grid.rows] == ["S2", "S3", "S1", "S4"]
    cell = grid.rows[0].signatures["step"]
    assert cell.text == "−150 W"
    assert cell.share == pytest.approx(-100.0 * 150.0 / bad.predicted.p_mp)
    assert cell.words == "One group. Another group."
    assert grid.rows[0].signatures["inputs_suspect"].text == "4.5 K"
    assert grid.measured[0, 4] == pytest.approx(bad.measured.p_mp)
    assert not grid.rows[2].signatures
