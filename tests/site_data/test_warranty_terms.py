"""[module.KEY.warranty] of a site.toml."""

from datetime import date

import pytest

from viewer.site_data.site_toml import parse_site_toml, site_toml_text
from viewer.site_data.warranty_terms import WarrantyTerms

MODULE = """
name = "Invented field"
[module.A]
technology = "mono-Si"
i_sc = 9.5
v_oc = 45.5
i_mp = 9.0
v_mp = 37.5
alpha_sc = 0.05
beta_voc = -0.29
gamma_pmp = -0.37
cells_in_series = 72
[module.A.warranty]
"""


def read(lines: str):
    return parse_site_toml(MODULE + lines, "site.toml", "x")


def test_linear_terms() -> None:
    site = read("first_year = 2.0\nannual = 0.45\nyears = 30\nstart = 2021-05-01\n")
    assert site.problems == ()
    terms = WarrantyTerms(2.0, 0.45, 30.0, (), date(2021, 5, 1))
    assert site.layout.modules["A"].warranty == terms
    assert parse_site_toml(site_toml_text(site.layout), "b", "x").layout == site.layout


def test_steps() -> None:
    site = read("steps = [[10, 90], [25, 80]]\nrated_power = 335\n")
    assert site.problems == ()
    terms = site.layout.modules["A"].warranty
    assert terms == WarrantyTerms(steps=((10.0, 90.0), (25.0, 80.0)), rated_power=335.0)
    assert terms.end == 25.0
    assert parse_site_toml(site_toml_text(site.layout), "b", "x").layout == site.layout


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("first_year = 2.0", "has no annual; add the line annual = a number"),
        ("first_year = 97.5\nannual = 0.5", "first_year of the warranty of module 'A' is 97.5"),
        ("steps = [[10, 90], [5, 80]]", "ages must rise and percentages fall"),
        ("steps = []", "it has no step"),
        ("steps = [[10]]", "each step is a pair of numbers"),
        ("steps = 90", "steps"),
        ('first_year = 2\nannual = 0.5\nstart = "2020"', "is not a date; write it without quotes"),
        ("first_yaer = 2\nannual = 0.5", "did you mean first_year"),
        ("first_year = 2\nannual = 0.5\nstart = 2020-01-01T00:00:00", "is not a date"),
    ],
)
def test_wrong_terms_are_told_with_their_line_and_the_module_stays(lines: str, said: str) -> None:
    site = read(lines)
    assert any(said in one and one.startswith("site.toml, line 1") for one in site.problems)
    assert "A" in site.layout.modules
    assert site.layout.modules["A"].warranty is None


def test_a_warranty_that_is_no_table() -> None:
    text = MODULE.replace("[module.A.warranty]", 'warranty = "25 years"')
    site = parse_site_toml(text, "site.toml", "x")
    assert "must be a table of keys" in site.problems[0]
    assert site.layout.modules["A"].warranty is None
