"""Rates per string and group against invented sites whose truth is known."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from math import sqrt

import numpy as np
import pytest

from viewer.analysis.years.observation import Observation, Observed, Shares, cleaning_state
from viewer.analysis.years.trend import Trend, trend
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout
from viewer.site_data.visit_grouping import VisitGroup

SHEET = Datasheet("A", "mono-Si", 9.5, 45.5, 9.0, 37.5, 0.05, -0.29, -0.37, 72)
START = datetime(2018, 6, 1, 12)
OWN, COMMON = 0.004, 0.006


def layout(combiners: int, strings: int) -> SiteLayout:
    boxes = tuple(
        Combiner(f"CB{b}", tuple(StringLayout(f"S{n}", "A", 24) for n in range(strings)))
        for b in range(combiners)
    )
    return SiteLayout("Invented field", {"A": SHEET}, boxes)


def observation(
    box: int, number: int, visit: int, years: float, i_sc: float, v_oc: float, fill: float
) -> Observation:
    shares = Shares(OWN, COMMON)
    return Observation(
        source=f"{visit}/{box}/{number}",
        combiner=f"CB{box}",
        string=f"S{number}",
        module_type="A",
        visit=visit,
        measured_at=START + timedelta(days=365.25 * years),
        years=years,
        values={"p_mp": i_sc * v_oc * fill, "i_sc": i_sc, "v_oc": v_oc, "fill_factor": fill},
        uncertainty=dict.fromkeys(("p_mp", "i_sc", "v_oc", "fill_factor"), shares),
    )


def observed(observations: list[Observation]) -> Observed:
    visits = 1 + max(one.visit for one in observations)
    names = tuple(VisitGroup(f"visit {n}", ()) for n in range(visits))
    return Observed(tuple(observations), names, {})


def site(
    random: np.random.Generator,
    times: tuple[float, ...],
    rate: float = -0.008,
    between: float = 0.003,
    boxes: int = 5,
    strings: int = 4,
) -> list[Observation]:
    """A site whose current falls by `rate` a year, strings differing, with both errors."""
    common = random.normal(0, COMMON, len(times))
    made = []
    for box in range(boxes):
        for number in range(strings):
            own_rate = random.normal(rate, between)
            for visit, years in enumerate(times):
                error = 1 + common[visit] + random.normal(0, OWN)
                current = 9.5 * (1 + own_rate * years) * error
                made.append(observation(box, number, visit, years, current, 1090.0, 0.78))
    return made


def test_exact_values_give_the_exact_rate() -> None:
    made = [
        observation(0, n, v, years, 9.5 * (1 - 0.007 * years), 1090.0, 0.78)
        for n in range(3)
        for v, years in enumerate((0.0, 1.0, 2.5))
    ]
    found = trend(observed(made), layout(1, 3))
    for string in found.strings:
        assert string.rates["p_mp"].value == pytest.approx(-0.7, rel=1e-9)
        assert string.rates["i_sc"].value == pytest.approx(-0.7, rel=1e-9)
        assert string.rates["v_oc"].value == pytest.approx(0.0, abs=1e-9)
        assert string.theil_sen.value == pytest.approx(-0.7, rel=1e-9)
    assert found.site.rates["p_mp"].value == pytest.approx(-0.7, rel=1e-9)


def test_two_visits_have_the_interval_of_two_independent_readings() -> None:
    made = [observation(0, n, v, 2.0 * v, 9.5, 1090.0, 0.78) for n in range(2) for v in range(2)]
    (one, _) = trend(observed(made), layout(1, 2)).strings
    # For a flat pair: u(rate) = sqrt(2) u / span (GUM, JCGM 100:2008, 5.1.2).
    half = 1.96 * 100 * sqrt(2) * sqrt(OWN**2 + COMMON**2) / 2.0
    assert one.rates["p_mp"].high == pytest.approx(half, rel=1e-4)
    assert np.isnan(one.excess)
    assert one.theil_sen is None


def test_intervals_cover_the_truth_as_often_as_they_say() -> None:
    random = np.random.default_rng(11)
    string_hits, site_hits, tries = 0, 0, 300
    for _ in range(tries):
        made = site(random, (0.0, 1.0, 2.0, 4.0), between=0.003)
        found = trend(observed(made), layout(5, 40))
        site_hits += found.site.rates["p_mp"].low <= -0.8 <= found.site.rates["p_mp"].high
        made = site(random, (0.0, 1.5), between=0.0, boxes=1, strings=2)
        rate = trend(observed(made), layout(5, 40)).strings[0].rates["p_mp"]
        string_hits += rate.low <= -0.8 <= rate.high
    assert 0.92 <= string_hits / tries <= 0.98
    assert 0.92 <= site_hits / tries <= 0.985


def test_a_combiner_traced_whole_does_not_pull_the_site_to_it() -> None:
    """One of five combiners falls by 3 % a year and is traced whole, the others by a tenth."""
    random = np.random.default_rng(15)
    hits, tries = 0, 200
    truth = (4 * -0.8 + -3.0) / 5
    for _ in range(tries):
        made = site(random, (0.0, 2.0, 4.0), boxes=4, strings=4)
        bad = site(random, (0.0, 2.0, 4.0), rate=-0.03, boxes=1, strings=40)
        made += [replace(one, combiner="CB4") for one in bad]
        found = trend(observed(made), layout(5, 40))
        assert found.site is not None
        rate = found.site.rates["p_mp"]
        hits += rate.low <= truth <= rate.high
    assert hits / tries >= 0.93
    assert found.remarks[-1].startswith("CB4 has 20 % of the site's strings and 71 % of those")


def test_more_strings_do_not_average_away_what_all_share() -> None:
    random = np.random.default_rng(12)
    few = trend(observed(site(random, (0.0, 2.0), boxes=2)), layout(100, 4)).site
    many = trend(observed(site(random, (0.0, 2.0), boxes=60)), layout(100, 4)).site
    shared = 1.96 * 100 * sqrt(2) * COMMON / 2.0
    for group in (few, many):
        assert group.rates["p_mp"].high - group.rates["p_mp"].value > 0.95 * shared
    width = many.rates["p_mp"].high - many.rates["p_mp"].value
    assert width == pytest.approx(shared, rel=0.1)


def test_a_census_has_a_narrower_interval_than_a_sample() -> None:
    made = site(np.random.default_rng(13), (0.0, 6.0), between=0.02, boxes=3)
    made = [
        replace(one, uncertainty={k: Shares(OWN, 0.0) for k in one.uncertainty}) for one in made
    ]
    census = trend(observed(made), layout(3, 4)).site
    sample = trend(observed(made), layout(3, 400)).site

    def width(group) -> float:
        return group.rates["p_mp"].high - group.rates["p_mp"].low

    assert (census.population, sample.population) == (12, 1200)
    assert width(census) < 0.3 * width(sample)


def test_groups_are_site_module_types_and_combiners() -> None:
    made = site(np.random.default_rng(14), (0.0, 2.0), boxes=2)
    found = trend(observed(made), layout(3, 4))
    kinds = [(group.kind, group.name, group.strings) for group in found.groups]
    assert kinds == [
        ("site", "Invented field", 8),
        ("module type", "A", 8),
        ("combiner", "CB0", 4),
        ("combiner", "CB1", 4),
    ]


def loss(quantity: str, rate: float = 0.02) -> Trend:
    made = []
    for number in range(8):
        for visit, years in enumerate((0.0, 3.0, 6.0)):
            left = 1 - rate * years
            values = {"i_sc": 9.5, "v_oc": 1090.0, "fill": 0.78}
            values[quantity] *= left
            made.append(observation(0, number, visit, years, **values))
    return trend(observed(made), layout(1, 80))


@pytest.mark.parametrize(("quantity", "label"), [("i_sc", "Isc"), ("v_oc", "Voc"), ("fill", "FF")])
def test_what_drives_the_loss_is_named(quantity: str, label: str) -> None:
    sentences = loss(quantity).site.sentences
    assert any(one.startswith(f"{label} carries at least half of the loss") for one in sentences)


def test_words_follow_the_interval() -> None:
    shown = loss("i_sc").site.sentences
    assert shown[0].startswith("Power is falling: -2.00 %/year, between -")
    assert "lies below the published median of -0.5 %/year" in shown[1]
    random = np.random.default_rng(15)
    unsure = trend(observed(site(random, (0.0, 1.0))), layout(5, 40)).site
    assert unsure.rates["p_mp"].low < 0 < unsure.rates["p_mp"].high
    assert unsure.sentences[0].startswith("No change of power can be shown: the rate lies between")
    assert unsure.sentences[1].startswith("It includes the published median")
    assert unsure.sentences[2].startswith("1.0 years of field data prove little")
    risen = loss("i_sc", -0.02).site.sentences
    assert risen[0].startswith("Power is rising")


def test_scatter_beyond_what_was_stated_widens_the_interval() -> None:
    calm = [9.5, 9.5, 9.5, 9.5]
    wild = [9.5, 9.9, 9.1, 9.5]
    made = [
        observation(0, number, visit, float(visit), currents[visit], 1090.0, 0.78)
        for number, currents in enumerate((calm, wild))
        for visit in range(4)
    ]
    first, second = trend(observed(made), layout(1, 2)).strings
    assert second.excess > 2
    assert second.own["p_mp"] > 2 * first.own["p_mp"]


def test_soiling_is_taken_out_by_pairs() -> None:
    """The second visit is 4 % soiled; two strings were traced before and after cleaning."""
    made = []
    for number in range(6):
        made.append(observation(0, number, 0, 0.0, 9.5, 1090.0, 0.78))
        dirty = observation(0, number, 1, 2.0, 9.5 * 0.96 * 0.99, 1090.0, 0.78)
        if number < 2:
            clean = observation(0, number, 1, 2.0, 9.5 * 0.99, 1090.0, 0.78)
            made += [replace(dirty, cleaned=False), replace(clean, cleaned=True)]
        else:
            made.append(dirty)
    found = trend(observed(made), layout(1, 6))
    (soiled,) = found.soiling
    assert (soiled.visit, soiled.pairs) == (1, 2)
    assert soiled.power_lost == pytest.approx(0.04)
    for string in found.strings:
        assert string.rates["p_mp"].value == pytest.approx(-0.5, abs=1e-9)
    assert any("Soiling is not told apart on visit 0" in one for one in found.remarks)


def test_repaired_strings_stand_apart() -> None:
    """S0 lost a third of its voltage and was mended between the second and third visit."""
    made = []
    for number in range(4):
        for visit, years in enumerate((0.0, 1.0, 2.0, 3.0)):
            broken = number == 0 and years == 1.0
            v_oc = 1090.0 * (1 - 0.005 * years) * (0.67 if broken else 1.0)
            made.append(observation(0, number, visit, years, 9.5, v_oc, 0.78))
    days = {("CB0", "S0"): [date(2019, 12, 1)], ("CB0", "S1"): [date(2015, 1, 1)]}
    found = trend(observed(made), layout(1, 4), days)
    assert [one.place[1] for one in found.strings] == ["S1", "S2", "S3"]
    (mended,) = found.repaired
    assert (mended.place[1], mended.visits) == ("S0", (2, 3))
    assert found.site.strings == 3
    assert found.site.rates["p_mp"].value == pytest.approx(-0.5, abs=1e-6)
    late = {("CB0", "S0"): [date(2020, 12, 1)]}
    assert trend(observed(made), layout(1, 4), late).repaired_without_rate == (("CB0", "S0"),)


def test_a_string_that_stands_out_is_named() -> None:
    made = site(np.random.default_rng(16), (0.0, 2.0, 4.0), between=0.001)
    made = [
        replace(one, values=one.values | {"p_mp": one.values["p_mp"] * (1 - 0.05 * one.years)})
        if one.place == ("CB2", "S1")
        else one
        for one in made
    ]
    found = trend(observed(made), layout(5, 4))
    assert found.outlying == {("CB2", "S1")}
    assert (found.site.strings, found.usual.strings, found.usual.population) == (20, 19, 19)
    assert found.usual.between < 0.3 < found.site.between
    assert found.usual.rates["p_mp"].value > found.site.rates["p_mp"].value


def test_one_visit_gives_no_rate_and_says_so() -> None:
    found = trend(observed(site(np.random.default_rng(17), (0.0,))), layout(5, 4))
    assert found.strings == () == found.groups
    assert "A rate needs at least two visits with usable traces." in found.remarks


@pytest.mark.parametrize(
    ("note", "state"),
    [
        (None, None),
        ("row 3", None),
        ("After cleaning", True),
        ("washed this morning", True),
        ("before cleaning", False),
        ("not cleaned", False),
        ("uncleaned", False),
        ("Before the cleaning", False),
        ("soiled, bird droppings", False),
        ("not yet washed", False),
        ("should be cleaned soon", False),
        ("half cleaned, half not cleaned", False),
        ("sensor cleaned; string not cleaned", False),
        ("sensor and string cleaned", True),
        ("pyranometer cleaned", None),
        ("sensor not cleaned", None),
        ("last cleaned in spring 2023", None),
        ("no longer soiled", None),
    ],
)
def test_cleaning_is_read_from_the_note(note: str | None, state: bool | None) -> None:
    assert cleaning_state(note) is state
