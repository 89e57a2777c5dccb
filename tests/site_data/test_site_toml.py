"""site.toml: what is right is kept, each error is one sentence with file and line."""

import pytest

from viewer.site_data.site_layout import Location, Mounting
from viewer.site_data.site_toml import parse_site_toml, read_site_toml, site_toml_text

GOOD = """\
name = "Invented site"
[location]
latitude = 38.5
longitude = -8.0
altitude = 120
timezone = "Europe/Lisbon"
[mounting]
tilt = 25
azimuth = 180
[module.M]
technology = "mono-Si"
i_sc = 9.5
v_oc = 46.0
i_mp = 9.0
v_mp = 38.0
alpha_sc = 0.05
beta_voc = -0.29
gamma_pmp = -0.38
cells_in_series = 72
[module.L]
library = "Canadian Solar Inc. CS6X-300M"
technology = "n-type-Si"
[[combiner]]
name = "C1"
  [[combiner.string]]
  name = "S1"
  module = "M"
  modules_in_series = 20
  [[combiner.string]]
  name = "S2"
  module = "L"
  modules_in_series = 18
  strings_in_parallel = 2
"""


def problems(text: str) -> tuple[str, ...]:
    return parse_site_toml(text, "site.toml", "folder").problems


def test_a_complete_site_is_read():
    site = parse_site_toml(GOOD, "site.toml", "folder")
    assert site.problems == ()
    layout = site.layout
    assert layout.location == Location(38.5, -8.0, 120.0, "Europe/Lisbon")
    assert layout.mounting == Mounting(25.0, 180.0)
    assert layout.modules["M"].bypass_diodes == 3
    two = layout.string("C1", "S2")
    assert two is not None
    assert (two.modules_in_series, two.strings_in_parallel) == (18, 2)
    assert layout.modules["L"].technology == "n-type-Si"
    assert layout.modules["L"].library == "Canadian Solar Inc. CS6X-300M"


def test_written_text_reads_back_as_the_same_layout():
    layout = parse_site_toml(GOOD, "site.toml", "folder").layout
    again = parse_site_toml(site_toml_text(layout), "site.toml", "folder")
    assert again.problems == ()
    assert again.layout == layout


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("i_sc = 9.5", 'i_sc = "9.5 A"', 12, "write a plain number in A"),
        ("i_sc = 9.5", "i_sc = nan", 12, "not a finite number"),
        ("beta_voc = -0.29", "beta_vco = -0.29", 17, "did you mean beta_voc?"),
        ("v_mp = 38.0\n", "", 10, "has no v_mp"),
        ("v_mp = 38.0", "v_mp = 48.0", 10, "v_mp (48 V) must be below v_oc (46 V)"),
        ("cells_in_series = 72", "cells_in_series = 72.5", 19, "whole number"),
        ('"mono-Si"', '"silicon"', 11, "write one of mono-Si, multi-Si"),
        ('module = "M"', 'module = "N"', 27, "names module 'N', which is not described"),
        ("CS6X-300M", "CS6X-300MQ", 21, "near it are 'Canadian Solar Inc. CS6X-300M"),
        ("modules_in_series = 20", "modules_in_series = 0", 28, "from 1 to 1000"),
        ("modules_in_series = 20", "modules_in_series = 2000000000", 28, "from 1 to 1000"),
        ('name = "S2"', 'name = "S1"', 29, "described twice"),
        ("latitude = 38.5", "latitude = 138.5", 3, "from -90 to 90"),
        ("Europe/Lisbon", "Europe/Nowhere", 6, "IANA name"),
        ("tilt = 25", "tilt = true", 8, "plain number"),
        ("[[combiner]]", "[[combiners]]", 23, "did you mean combiner?"),
        ("v_oc = 46.0", "v_oc = ", 13, "not valid TOML"),
    ],
)
def test_each_error_is_told_with_file_and_line(old, new, line, says):
    found = problems(GOOD.replace(old, new, 1))
    matching = [one for one in found if says in one]
    assert len(matching) == 1, found
    assert matching[0].startswith(f"site.toml, line {line}: ")
    assert matching[0].endswith((".", "?"))


def test_a_wrong_module_leaves_the_rest_usable():
    layout = parse_site_toml(GOOD.replace("i_sc = 9.5", "i_sc = -9.5"), "site.toml", "x").layout
    assert list(layout.modules) == ["L"]
    assert layout.string("C1", "S1") is not None


def test_a_half_cut_count_gets_a_remark():
    site = parse_site_toml(
        GOOD.replace("cells_in_series = 72", "cells_in_series = 144"), "site.toml", "x"
    )
    assert site.problems == ()
    assert any("parallel_paths = 2" in remark for remark in site.remarks)


@pytest.mark.parametrize(("technology", "doubted"), [("multi-Si", False), ("n-type-Si", True)])
def test_a_cell_voltage_is_doubted_by_the_limits_of_its_technology(technology, doubted):
    """0.55 V a cell: the fit refuses it of an n-type cell, so the file is not silent either."""
    text = GOOD.replace('technology = "mono-Si"', f'technology = "{technology}"')
    text = text.replace("v_oc = 46.0", "v_oc = 39.6").replace("v_mp = 38.0", "v_mp = 31.0")
    remarks = parse_site_toml(text, "site.toml", "Site").remarks
    said = [one for one in remarks if "module 'M': v_oc over cells_in_series" in one]
    assert bool(said) is doubted


@pytest.mark.parametrize("beta", ["-0.134", "0.29"])
def test_a_temperature_coefficient_in_volts_is_doubted(beta):
    text = GOOD.replace("beta_voc = -0.29", f"beta_voc = {beta}")
    site = parse_site_toml(text, "site.toml", "Site")
    said = [one for one in (*site.problems, *site.remarks) if "beta_voc" in one]
    assert len(said) == 1
    assert "a value in V/K must be divided by v_oc" in said[0]


def test_a_file_that_is_not_text(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b'name = "A"\n[module.\xff]\n')
    assert read_site_toml(path).problems == (
        "site.toml, line 2: not UTF-8 text; save the file as UTF-8.",
    )


def test_a_missing_file_is_told(tmp_path):
    site = read_site_toml(tmp_path / "site.toml")
    assert len(site.problems) == 1
    assert site.layout.combiners == ()


@pytest.mark.parametrize("text", ["module = 3", "combiner = 4", "[combiner]\nname = 'x'", "[["])
def test_wrong_shapes_are_one_sentence(text):
    assert len(problems(text)) == 1
