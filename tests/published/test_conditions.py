"""Cell temperature, irradiance and sun against published values and pvlib."""

from datetime import datetime, timedelta, timezone

import numpy as np
import pvlib
import pytest

from viewer.physics.cell_temperature import (
    equivalent_cell_temperature,
    from_air_and_wind,
    temperature_of_voc,
)
from viewer.physics.conditions import cell_from_module_temperature
from viewer.physics.effective_irradiance import (
    from_reference_cell,
    from_short_circuit,
    of_bifacial,
)
from viewer.physics.sun_position import incidence_angle, sun_position, tracker_orientation

MOUNTAIN = timezone(timedelta(hours=-7))


def test_sun_of_the_nrel_worked_example() -> None:
    """I. Reda and A. Andreas, NREL/TP-560-34302, appendix A.5: 17 October 2003, 12:30:30 at
    UTC-7; zenith 50.11162°, azimuth 194.34024°, incidence on 30° facing 170°: 25.18700°."""
    sun = sun_position(
        [datetime(2003, 10, 17, 12, 30, 30, tzinfo=MOUNTAIN)], 39.742476, -105.1786, 1830.14
    )
    assert 90.0 - sun.elevation[0] == pytest.approx(50.11162, abs=1e-3)
    assert sun.azimuth[0] == pytest.approx(194.34024, abs=1e-3)
    assert incidence_angle(sun, 30.0, 170.0)[0] == pytest.approx(25.18700, abs=1e-3)


def test_a_time_without_zone_has_no_sun() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        sun_position([datetime(2024, 6, 1, 12)], 40.0, 0.0)


def test_a_tracker_faces_the_sun_across_its_axis() -> None:
    """On a horizontal north-south axis what is left of the incidence lies along the axis."""
    sun = sun_position([datetime(2024, 6, 21, 16, tzinfo=MOUNTAIN)], 35.0, -105.0)
    tilt, azimuth = tracker_orientation(sun, 0.0, 180.0, 60.0, 0.4)
    north = np.cos(np.radians(sun.elevation)) * np.cos(np.radians(sun.azimuth))
    left = np.degrees(np.arcsin(np.abs(north)))
    assert incidence_angle(sun, tilt, azimuth) == pytest.approx(left, abs=1e-6)


def test_air_and_wind_models_are_pvlib_s() -> None:
    """Sandia: King, Boyson and Kratochvill, SAND2004-3535; the others as pvlib documents."""
    poa, air, wind = 850.0, 22.0, 3.0
    module = pvlib.temperature.sapm_module(poa, air, wind, a=-3.56, b=-0.075)
    assert from_air_and_wind(poa, air, wind) == pytest.approx(module + 0.85 * 3.0)
    back = pvlib.temperature.faiman(poa, air, wind)
    assert from_air_and_wind(poa, air, wind, "faiman") == pytest.approx(back + 0.85 * 3.0)
    assert from_air_and_wind(poa, air, wind, "pvsyst") == pytest.approx(
        pvlib.temperature.pvsyst_cell(poa, air, wind)
    )


@pytest.mark.parametrize("name", ["linear", ""])
def test_an_unknown_temperature_model_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="no cell temperature model"):
        from_air_and_wind(800.0, 20.0, 1.0, name)


def test_back_to_cell_by_king() -> None:
    """SAND2004-3535, equation 12: 3 K at 1000 W/m² on an open rack, in proportion below."""
    assert cell_from_module_temperature(45.0, 500.0) == pytest.approx(46.5)


def desoto(poa: np.ndarray, temperature: np.ndarray) -> np.ndarray:
    """Voc of a 72-cell module with diode factor 1.05 by pvlib's De Soto model."""
    thermal = 1.05 * 72 * 8.617333262e-5 * 298.15
    il, io, rs, rsh, a = pvlib.pvsystem.calcparams_desoto(
        np.asarray(poa, float),
        np.asarray(temperature, float),
        0.005,
        thermal,
        11.0,
        1e-10,
        600,
        0.2,
    )
    return np.asarray(pvlib.pvsystem.v_from_i(0.0, il, io, rs, rsh, a))


@pytest.mark.parametrize("poa", [500.0, 800.0, 1100.0])
@pytest.mark.parametrize("temperature", [20.0, 45.0, 70.0])
def test_equivalent_cell_temperature_finds_the_temperature_of_pvlib_s_voc(
    poa: float, temperature: float
) -> None:
    """IEC 60904-5 from datasheet values: within 0.7 K of the temperature that went in.
    By the model itself: exact."""
    v_oc = desoto(poa, temperature)
    beta = (desoto(1000.0, 26.0) - desoto(1000.0, 24.0)) / 2
    found = equivalent_cell_temperature(v_oc, poa, desoto(1000.0, 25.0), beta, 72, 1.05)
    assert found == pytest.approx(temperature, abs=0.7)
    exact = temperature_of_voc(v_oc, lambda t: desoto(poa, t))
    assert exact == pytest.approx(temperature, abs=1e-4)


def test_a_voc_nobody_can_reach_gives_no_temperature() -> None:
    found = temperature_of_voc(
        np.array([500.0, float(desoto(1000.0, 40.0))]), lambda t: desoto(1000.0, t)
    )
    assert np.isnan(found[0])
    assert found[1] == pytest.approx(40.0, abs=1e-4)


def test_irradiance_from_isc_of_pvlib_s_curve() -> None:
    il, io, rs, rsh, a = pvlib.pvsystem.calcparams_desoto(
        760.0, 55.0, 0.005, 1.95, 11.0, 1e-10, 600, 0.2
    )
    i_sc = pvlib.pvsystem.i_from_v(0.0, il, io, rs, rsh, a)
    ref = pvlib.pvsystem.i_from_v(
        0.0, *pvlib.pvsystem.calcparams_desoto(1000.0, 25.0, 0.005, 1.95, 11.0, 1e-10, 600, 0.2)
    )
    assert from_short_circuit(i_sc, ref, 0.005 / 11.0, 55.0) == pytest.approx(760.0, rel=3e-4)


def test_reference_cell_and_bifacial_by_hand() -> None:
    """A cell with +0.05 %/K at 65 °C reads 2 % too much (IEC 60904-2); 800 in front and 100
    behind at bifaciality 0.7 make 870 (IEC TS 60904-1-2: G = front + phi rear)."""
    assert from_reference_cell(816.0, 65.0) == pytest.approx(799.68)
    assert of_bifacial(800.0, 100.0, 0.7) == pytest.approx(870.0)
