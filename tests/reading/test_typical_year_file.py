"""Weather files written here after their published layouts, with pvlib's clear sky in them.

EPW: EnergyPlus Auxiliary Programs, "EPW CSV Format"; TMY3: Wilcox and Marion, NREL/TP-581-43156
(both from memory; pvlib, which reads them, is the outside judge of the layouts).
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pvlib
import pytest

from tests.invented_results import invented_layout
from viewer.analysis.losses.energy_cost import CLEAR_SHARE, clear_year
from viewer.physics.sun_position import sun_position
from viewer.reading.notation.limits import UnreadableFileError
from viewer.reading.typical_year_file import read_typical_year
from viewer.site_data.site_layout import Location
from viewer.state.losses.cost_terms import CostTerms, year_for

PLACE = Location(40.0, -3.0, 0.0)
START = datetime(2025, 1, 1, 0, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def sky():
    """ghi, dni, dhi at the middle of every hour: what both kinds of file hold."""
    times = [START + timedelta(hours=k, minutes=30) for k in range(8760)]
    sun = sun_position(times, PLACE.latitude, PLACE.longitude, PLACE.altitude)
    found = pvlib.clearsky.simplified_solis(
        np.maximum(sun.elevation, 0.0), pressure=float(pvlib.atmosphere.alt2pres(0.0))
    )
    return [np.asarray(found[name]) for name in ("ghi", "dni", "dhi")]


def write_epw(path, sky):
    lines = ["LOCATION,Nowhere,-,XXX,invented,000000,40.0,-3.0,0.0,0.0"]
    lines += [f"COMMENTS {k},invented" for k in range(7)]
    for hour in range(8760):
        day = START + timedelta(hours=hour)
        cells = [day.year, day.month, day.day, day.hour + 1, 60, "?"] + ["0"] * 29
        cells[13:16] = [f"{one[hour]:.3f}" for one in sky]
        lines.append(",".join(map(str, cells)))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def write_tmy3(path, sky):
    lines = ["700000,Nowhere,XX,0.0,40.000,-3.000,0"]
    lines.append("Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2)")
    for hour in range(8760):
        day = START + timedelta(hours=hour)
        values = ",".join(f"{one[hour]:.3f}" for one in sky)
        lines.append(f"{day:%m/%d/%Y},{day.hour + 1:02d}:00,{values}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


@pytest.mark.parametrize(("name", "write"), [("a.epw", write_epw), ("b.csv", write_tmy3)])
def test_a_weather_file_of_the_clear_sky_gives_the_clear_year(tmp_path, sky, name, write):
    """An hour or half an hour amiss would part the two by more than a percent at low sun."""
    write(tmp_path / name, sky)
    layout = invented_layout()
    layout = type(layout)(layout.name, layout.modules, layout.combiners, location=PLACE)
    year = year_for(layout, CostTerms(year_file=tmp_path / name))
    wanted = clear_year(PLACE).poa_global / CLEAR_SHARE
    assert year.poa_global == pytest.approx(wanted, abs=0.05)
    assert name in year.assumptions[0]


def test_the_sky_alone_needs_a_location(tmp_path, sky):
    write_epw(tmp_path / "a.epw", sky)
    with pytest.raises(ValueError, match=r"add \[location\] to site.toml"):
        year_for(invented_layout(), CostTerms(year_file=tmp_path / "a.epw"))


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.epw", "LOCATION,oops\n", "EPW weather file"),
        ("b.csv", "700000,x\nDate (MM/DD/YYYY),oops\n", "TMY3 weather file"),
        ("c.csv", "hour,sunshine\n1,2\n2,3\n3,4\n", "no column named poa_global"),
        ("d.csv", "", "empty"),
    ],
)
def test_a_file_that_holds_no_year_is_refused_in_one_sentence(tmp_path, name, text, said):
    (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableFileError, match=said):
        read_typical_year(tmp_path / name)


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises((UnreadableFileError, OSError), match="gone"):
        read_typical_year(tmp_path / "gone.epw")
