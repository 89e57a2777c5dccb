"""Sun positions and clear-sky figures against published values.

Sun position: the worked example in I. Reda and A. Andreas, Solar Position Algorithm for Solar
Radiation Applications, NREL/TP-560-34302, appendix A.5: 17 October 2003, 12:30:30 at UTC-7,
latitude 39.742476, longitude -105.1786, altitude 1830.14 m, 820 mbar, 11 °C, surface tilted
30° facing 170° from north: zenith 50.11162°, azimuth 194.34024°, incidence 25.18700°.
"""

from datetime import date

import numpy as np
import pandas as pd
import pvlib
import pytest

from viewer.analysis.before_visit.good_hours import sun_hours
from viewer.site_data.site_layout import Location, Mounting


def test_nrel_worked_example() -> None:
    times = pd.DatetimeIndex([pd.Timestamp("2003-10-17 12:30:30", tz="Etc/GMT+7")])
    sun = pvlib.solarposition.get_solarposition(
        times, 39.742476, -105.1786, altitude=1830.14, pressure=82000, temperature=11, delta_t=67
    )
    assert sun["apparent_zenith"].iloc[0] == pytest.approx(50.11162, abs=2e-4)
    assert sun["azimuth"].iloc[0] == pytest.approx(194.34024, abs=2e-4)


def test_incidence_of_the_worked_example_in_our_course() -> None:
    """Our course at one-minute steps passes the example's incidence at its minute."""
    course = sun_hours(
        Location(39.742476, -105.1786, 1830.14, "Etc/GMT+7"),
        Mounting(tilt=30.0, azimuth=170.0),
        date(2003, 10, 17),
        date(2003, 10, 17),
        minutes=1,
    )
    at = np.flatnonzero((course.times.hour == 12) & (course.times.minute.isin([30, 31])))
    assert course.incidence[at].mean() == pytest.approx(25.18700, abs=0.02)


def test_clear_sky_noon_at_sea_level() -> None:
    """About 1000 W/m² on a plane facing a high sun at sea level under a clear sky.

    ASTM G173-03 puts 1000.4 W/m² on a 37° plane at air mass 1.5; at air mass near 1 a clear
    sky gives some 5 to 10 % more or less with turbidity, so the bound is wide.
    """
    course = sun_hours(
        Location(35.0, 0.0, 0.0, "Etc/GMT"),
        Mounting(15.0, 180.0),
        date(2025, 6, 21),
        date(2025, 6, 21),
    )
    assert 900 < course.poa_global.max() < 1100
