"""The cable of a string in site.toml: read, written back, and each mistake one sentence."""

import pytest

from viewer.site_data.site_toml import parse_site_toml, site_toml_text

SITE = """\
name = "Invented site"
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
[[combiner]]
name = "C1"
  [[combiner.string]]
  name = "S1"
  module = "M"
  modules_in_series = 20
"""
CABLE = "  cable_length = 60\n  cable_cross_section = 6\n"


def test_cable_is_read_and_written_back() -> None:
    found = parse_site_toml(SITE + CABLE, "site.toml", "folder")
    assert found.problems == ()
    string = found.layout.string("C1", "S1")
    assert (string.cable_length, string.cable_cross_section) == (60.0, 6.0)
    assert string.cable_material == "copper"
    again = parse_site_toml(site_toml_text(found.layout), "site.toml", "folder")
    assert again.layout == found.layout


def test_without_cable_nothing_is_written() -> None:
    layout = parse_site_toml(SITE, "site.toml", "folder").layout
    assert "cable" not in site_toml_text(layout)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("  cable_length = 60\n", "no cable_cross_section"),
        ("  cable_length = -5\n  cable_cross_section = 6\n", "lies from 0 to 2000"),
        (CABLE + '  cable_material = "iron"\n', "copper or aluminium"),
        ('  cable_length = "60 m"\n  cable_cross_section = 6\n', "write a plain number in m"),
    ],
)
def test_each_mistake_is_one_sentence(lines: str, said: str) -> None:
    problems = parse_site_toml(SITE + lines, "site.toml", "folder").problems
    assert len(problems) == 1
    assert said in problems[0]
