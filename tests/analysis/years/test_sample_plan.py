"""The plan is stratified, repeatable, keeps its panel and comes round to every string."""

import subprocess
import sys
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from tests.analysis.years.test_trend import COMMON, OWN, observed, site
from tests.analysis.years.test_trend import layout as field
from viewer.analysis.years.observation import Shares
from viewer.analysis.years.sample_plan import (
    PANEL,
    ROTATION,
    SUSPECT,
    permanent_number,
    plan_sample,
)
from viewer.analysis.years.sample_power import detectable
from viewer.analysis.years.trend import trend
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout

MIXED = SiteLayout(
    "Invented field",
    {},
    tuple(
        Combiner(
            f"CB{box}",
            tuple(StringLayout(f"S{n}", "A" if n < 16 else "B", 24) for n in range(20)),
        )
        for box in range(30)
    ),
)


def test_about_a_tenth_spread_over_all_combiners() -> None:
    plan = plan_sample(MIXED)
    assert (len(plan.strings), plan.population) == (60, 600)
    boxes = Counter(one.combiner for one in plan.strings)
    assert set(boxes.values()) == {2}
    kinds = Counter(one.module_type for one in plan.strings)
    assert 9 <= kinds["B"] <= 15  # a fifth of the strings
    reasons = Counter(one.reason for one in plan.strings)
    assert reasons == {PANEL: 30, ROTATION: 30}


def test_walking_order_is_the_layouts() -> None:
    order = [(box.name, one.name) for box in MIXED.combiners for one in box.strings]
    places = [order.index(one.place) for one in plan_sample(MIXED).strings]
    assert places == sorted(places)


def test_the_seed_decides_and_nothing_else() -> None:
    plan = plan_sample(MIXED, seed=5)
    assert plan == plan_sample(MIXED, seed=5)
    assert plan != plan_sample(MIXED, seed=6)
    turned = SiteLayout("x", {}, tuple(reversed(MIXED.combiners)))
    same = {one.place for one in plan_sample(turned, seed=5).strings}
    assert same == {one.place for one in plan.strings}
    code = (
        "from viewer.analysis.years.sample_plan import permanent_number;"
        "print(repr(permanent_number(5, ('CB1', 'S2'))))"
    )
    root = Path(__file__).parents[3]
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=root)
    assert float(said.stdout) == permanent_number(5, ("CB1", "S2"))


def test_permanent_numbers_are_even() -> None:
    numbers = [permanent_number(1, (f"CB{n}", "S")) for n in range(20_000)]
    counts, _ = np.histogram(numbers, bins=20, range=(0, 1))
    chi_squared = ((counts - 1000) ** 2 / 1000).sum()
    assert chi_squared < 43.8  # 99.9 % point of chi-squared with 19 degrees of freedom


def test_every_string_has_the_same_chance() -> None:
    counts: Counter[tuple[str, str]] = Counter()
    for seed in range(200):
        counts.update(one.place for one in plan_sample(MIXED, seed=seed).strings)
    chances = np.array([counts[b.name, s.name] / 200 for b in MIXED.combiners for s in b.strings])
    assert chances.mean() == pytest.approx(0.1, abs=0.001)
    assert chances.max() < 0.1 + 5 * np.sqrt(0.09 / 200)
    of_b = np.mean([counts[b.name, s.name] / 200 for b in MIXED.combiners for s in b.strings[16:]])
    assert of_b == pytest.approx(0.1, abs=0.01)


def test_over_the_years_the_panel_stays_and_all_others_are_seen() -> None:
    traced: dict[tuple[str, str], list[int]] = {}
    panels = []
    for year in range(20):
        plan = plan_sample(MIXED, traced=traced, seed=3)
        panels.append({one.place for one in plan.strings if one.reason == PANEL})
        for one in plan.strings:
            traced.setdefault(one.place, []).append(year)
    assert all(panel == panels[0] for panel in panels)
    assert len(traced) == 600


def test_after_a_census_last_years_strings_come_first_into_the_panel() -> None:
    traced = {(b.name, s.name): [0] for b in MIXED.combiners for s in b.strings}
    last_year = plan_sample(MIXED, traced=traced, seed=3)
    for one in last_year.strings:
        traced[one.place].append(1)
    now = plan_sample(MIXED, traced=traced, seed=99)
    panel = {one.place for one in now.strings if one.reason == PANEL}
    assert panel <= {one.place for one in last_year.strings}
    assert len(panel) == 30


def test_suspects_are_added_and_told_apart() -> None:
    plan = plan_sample(MIXED)
    inside = plan.strings[0].place
    outside = next(
        (b.name, s.name)
        for b in MIXED.combiners
        for s in b.strings
        if (b.name, s.name) not in {one.place for one in plan.strings}
    )
    more = plan_sample(MIXED, suspects=[inside, outside, ("CB1", "not there")])
    assert len(more.strings) == 61
    assert [one.place for one in more.strings if one.reason == SUSPECT] == [outside]
    assert len(more.sampled) == 60


def test_a_rare_module_type_is_not_missed() -> None:
    rare = Combiner("CB99", (StringLayout("S0", "rare", 24),))
    plan = plan_sample(SiteLayout("x", {}, (*MIXED.combiners, rare)))
    assert ("CB99", "S0") in {one.place for one in plan.strings}


def test_small_sites_and_wrong_shares() -> None:
    one = SiteLayout("x", {}, (Combiner("C", (StringLayout("S", "A", 2),)),))
    assert len(plan_sample(one).strings) == 1
    assert len(plan_sample(MIXED, share=1.0).strings) == 600
    with pytest.raises(ValueError, match="must lie above 0"):
        plan_sample(MIXED, share=0.0)


@pytest.mark.parametrize(
    ("strings", "span", "between"), [(20, 2.0, 0.3), (20, 5.0, 0.8), (8, 1.0, 0.0)]
)
def test_the_promised_power_is_kept_by_simulated_sites(
    strings: int, span: float, between: float
) -> None:
    """At the smallest loss that can be shown, four of five simulated sites must show it."""
    population = 10 * strings
    boxes = strings // 4
    promised = detectable(strings, population, span, Shares(OWN, COMMON), between=between)
    random = np.random.default_rng(21)
    shown, tries = 0, 200
    for _ in range(tries):
        made = site(random, (0.0, span), -promised.smallest / 100, between / 100, boxes)
        found = trend(observed(made), field(10 * boxes, 4)).site
        shown += found.rates["p_mp"].is_loss
    assert shown / tries == pytest.approx(0.80, abs=0.085)  # three standard errors


def test_no_loss_is_shown_falsely_more_often_than_stated() -> None:
    random = np.random.default_rng(22)
    tries = 200
    false = sum(
        trend(observed(site(random, (0.0, 2.0), 0.0, 0.003)), field(50, 4))
        .site.rates["p_mp"]
        .is_loss
        for _ in range(tries)
    )
    assert false / tries < 0.025 + 3 * np.sqrt(0.025 / tries)


def test_more_strings_help_down_to_the_floor_that_the_sensor_sets() -> None:
    shares = Shares(0.005, 0.0125)
    smallest = [detectable(n, 1000, 2.0, shares).smallest for n in (5, 20, 100, 1000)]
    assert smallest == sorted(smallest, reverse=True)
    assert detectable(1000, 1000, 2.0, shares).smallest == pytest.approx(
        detectable(5, 1000, 2.0, shares).floor
    )
    assert smallest[2] < 1.02 * smallest[3]
    with pytest.raises(ValueError, match="at least two strings"):
        detectable(1, 10, 1.0, shares)
