"""The single-diode curve against pvlib's solvers (bishop88, Lambert W)."""

import numpy as np
import pytest
from pvlib import pvsystem
from pvlib.singlediode import bishop88

from viewer.physics.datasheet.module_model import (
    BOLTZMANN,
    DESOTO_BAND_GAP_SLOPE,
    T_REF,
    ModuleModel,
)
from viewer.physics.single_diode import (
    DiodeParameters,
    current_at,
    curve,
    exact_key_points,
    from_diode_voltage,
    voltage_at,
)


@pytest.fixture
def devices() -> DiodeParameters:
    """300 devices from single cells to long strings, leaky to faultless."""
    draw = np.random.default_rng(20)
    return DiodeParameters.of(
        draw.uniform(0.05, 15.0, 300),
        10.0 ** draw.uniform(-13.0, -6.0, 300),
        draw.uniform(0.0, 1.0, 300),
        10.0 ** draw.uniform(1.5, 4.0, 300),
        draw.uniform(1.2, 2.5, 300),
    )


def test_key_points_agree_with_pvlib(devices):
    ours = exact_key_points(devices)
    theirs = pvsystem.singlediode(*devices.as_tuple())
    for name in ("i_sc", "v_oc", "p_mp"):
        np.testing.assert_allclose(ours[name], theirs[name], rtol=1e-9)
    # pvlib finds the maximum by golden section, good to about the root of rounding error
    for name in ("i_mp", "v_mp"):
        np.testing.assert_allclose(ours[name], theirs[name], rtol=1e-6)


def test_points_in_diode_voltage_agree_with_bishop88(devices):
    vd = np.linspace(0.0, 30.0, 50) * np.ones((300, 1))
    voltage, current = from_diode_voltage(devices, vd)
    columns = (p[:, None] for p in devices.as_tuple())
    their_current, their_voltage, _ = bishop88(vd, *columns)
    scale = np.maximum(np.abs(their_current), 1.0)
    assert np.max(np.abs(current - their_current) / scale) < 1e-12
    assert np.max(np.abs(voltage - their_voltage) / scale) < 1e-11


def test_current_at_a_voltage_agrees_with_lambert_w(devices):
    v_oc = exact_key_points(devices)["v_oc"]
    for share in (-0.3, 0.0, 0.5, 0.9, 1.0, 1.1):
        ours = current_at(devices, share * v_oc)
        theirs = pvsystem.i_from_v(share * v_oc, *devices.as_tuple())
        scale = np.maximum(devices.photocurrent, np.abs(theirs))
        assert np.max(np.abs(ours - theirs) / scale) < 1e-9


def test_voltage_at_a_current_undoes_current_at_a_voltage(devices):
    v_oc = exact_key_points(devices)["v_oc"]
    for share in (-0.3, 0.0, 0.5, 0.9, 1.0, 1.1):
        there_and_back = voltage_at(devices, current_at(devices, share * v_oc))
        np.testing.assert_allclose(there_and_back, share * v_oc, atol=1e-8)


def test_curve_lies_on_pvlibs_curve(devices):
    voltage, current = curve(devices, 60)
    assert voltage.shape == current.shape == (300, 60)
    assert np.all(np.diff(voltage) > 0.0)
    columns = [p[:, None] for p in devices.as_tuple()]
    theirs = pvsystem.i_from_v(voltage, *columns)
    assert np.max(np.abs(current - theirs) / columns[0]) < 1e-9


@pytest.mark.parametrize("irradiance", [200.0, 1000.0, 1150.0])
@pytest.mark.parametrize("temperature", [-10.0, 25.0, 75.0])
def test_module_model_contains_de_soto_and_pvsyst(irradiance, temperature):
    reference = DiodeParameters.of(9.1, 3e-10, 0.25, 420.0, 1.05 * 60 * BOLTZMANN * T_REF)
    desoto = ModuleModel.of(
        reference,
        cells_in_series=60,
        alpha_sc=0.0045,
        band_gap=1.121,
        band_gap_slope=DESOTO_BAND_GAP_SLOPE,
        activation_by_diode_factor=False,
    ).operating(irradiance, temperature)
    theirs = pvsystem.calcparams_desoto(
        irradiance, temperature, 0.0045, float(reference.nNsVth), 9.1, 3e-10, 420.0, 0.25
    )
    for ours, value in zip(desoto.as_tuple(), theirs, strict=True):
        assert float(ours) == pytest.approx(value, rel=1e-9)

    pvsyst = ModuleModel.of(reference, cells_in_series=60, alpha_sc=0.0045, band_gap=1.121)
    theirs = pvsystem.calcparams_pvsyst(
        irradiance, temperature, 0.0045, 1.05, 0.0, 9.1, 3e-10, 420.0, 420.0, 0.25, 60
    )
    ours = pvsyst.operating(irradiance, temperature).as_tuple()
    for index in (0, 1, 2, 4):  # the shunt follows another law than PVsyst's
        assert float(ours[index]) == pytest.approx(theirs[index], rel=1e-6)
