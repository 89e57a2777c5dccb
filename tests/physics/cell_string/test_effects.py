import numpy as np
import pytest

from viewer.physics.cell_string.cell_fields import StringMakeup, built_string, untouched
from viewer.physics.cell_string.cells import BypassState, ModuleWiring
from viewer.physics.cell_string.effects import EFFECTS
from viewer.physics.cell_string.string_curve import voltage_at
from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.single_diode import exact_key_points


def makeup():
    fit = fit_module(9.2, 46.0, 8.7, 37.5, 0.0046, -0.138, -0.0039, 72, "mono-Si")
    assert fit.model is not None
    return StringMakeup(fit.model, 10, ModuleWiring(72, 2, 3))


MAKEUP = makeup()


def fields():
    return untouched(MAKEUP)


def after(kind, start=None, **values):
    return EFFECTS[kind].apply(fields() if start is None else start, values)


def lost(marks):
    """Share of light lost by every cell, full shape."""
    return 1 - np.broadcast_to(marks.light, marks.shape)


def test_even_loss_reaches_every_cell():
    assert lost(after("light", percent=8.0)) == pytest.approx(0.08)


def test_groups_are_counted_along_the_string_from_the_middle():
    dim = lost(after("light", percent=60.0, groups=4.0)).any(axis=(2, 3))
    assert dim.sum() == 4
    assert dim[4].all()
    assert dim[5, 0]


@pytest.mark.parametrize(("at", "module"), [("positive end", 0), ("negative end", 9)])
def test_an_end_is_an_end(at, module):
    dim = lost(after("light", percent=60.0, modules=1.0, at=at)).any(axis=(1, 2, 3))
    assert np.flatnonzero(dim).tolist() == [module]


def test_a_graded_loss_grows_from_group_to_group():
    loss = lost(after("light", percent=30.0, groups=3.0, graded=1.0))
    assert sorted(set(np.round(loss.max(axis=(2, 3)).ravel(), 6))) == [0, 0.1, 0.2, 0.3]


def test_one_cell_is_in_one_half_only():
    marks = after("current", percent=55.0, groups=1.0, cells=1.0)
    hurt = np.argwhere(np.broadcast_to(marks.current, marks.shape) < 1)
    assert hurt.tolist() == [[4, 0, 0, 0]]


def test_warm_modules_lose_their_voltage():
    cool = fields()
    warm = after("warmer", kelvin=20.0, modules=5.0)
    before, then = (
        float(voltage_at(built_string(MAKEUP, marks, 900.0, 40.0), 0.0)) for marks in (cool, warm)
    )
    expected = exact_key_points(MAKEUP.model.operating(900.0, [40.0, 60.0]))["v_oc"]
    assert before - then == pytest.approx(5 * (expected[0] - expected[1]), rel=1e-4)


def test_dirt_at_the_lower_edge_reaches_the_ends_of_both_columns():
    loss = lost(after("lower_edge", percent=40.0, rows=2.0))
    assert loss[0, 0, 1, [0, 23]] == pytest.approx(0.4)
    assert loss[0, 0, 1, [1, 22]] == pytest.approx(0.2)
    assert not loss[:, :, 0].any()
    assert loss.astype(bool).sum() == 10 * 3 * 4


def test_a_band_covers_its_width_wherever_it_stands():
    for position in (0.0, 13.0, 50.0, 100.0):
        loss = lost(after("passing_band", percent=65.0, position=position, width=1.5))
        assert loss.sum() / 0.65 == pytest.approx(1.5 * 3 * 2 * 24)
        assert loss.max() == pytest.approx(0.65)


def test_shunts_fade_from_the_end_inwards():
    marks = after("shunt", ohm=0.5, modules=4.0, at="negative end", graded=1.0)
    along = np.broadcast_to(marks.shunt, marks.shape)[:, 0, 0, 0]
    np.testing.assert_allclose(along, [0, 0, 0, 0, 0, 0, 0.5, 1.0, 1.5, 2.0])
    marks = after("shunt", ohm=0.5, modules=4.0, at="positive end", graded=1.0)
    along = np.broadcast_to(marks.shunt, marks.shape)[:, 0, 0, 0]
    np.testing.assert_allclose(along, [2.0, 1.5, 1.0, 0.5, 0, 0, 0, 0, 0, 0])


def test_bypass_diodes_fail_either_way():
    assert (after("bypass_short", groups=2.0).bypass == BypassState.SHORT).sum() == 2
    assert (after("bypass_open", groups=1.0).bypass == BypassState.OPEN).sum() == 1


def test_missing_modules_leave_one_at_least():
    assert after("missing", modules=2.0).present.sum() == 8
    assert after("missing", modules=99.0).present.sum() == 1


def test_an_effect_adds_to_those_before_it():
    marks = after("light", after("light", percent=50.0), percent=50.0)
    assert lost(marks) == pytest.approx(0.75)
    assert after("resistance", after("resistance", ohm=1.0), ohm=2.0).resistance == 3.0


def test_sensors_read_wrong_and_cells_do_not_care():
    marks = after("reading", irradiance_percent=8.0, temperature=-15.0)
    assert marks.irradiance_reading == pytest.approx(1.08)
    assert marks.temperature_reading == -15.0
    assert not lost(marks).any()
