"""Voltages and currents of strings at their extremes, against ratings."""

import pytest

from viewer.analysis.before_visit.electrical_limits import (
    EQUIPMENT,
    MEASURING_SET,
    Limit,
    MeasuringSet,
    electrical_limits,
    nec_voltage_factor,
)
from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout


def _layout(technology: str = "mono-Si", modules_in_series: int = 20) -> SiteLayout:
    module = Datasheet("M", technology, 10.0, 48.0, 9.5, 40.0, 0.05, -0.28, -0.36, 72)
    strings = tuple(StringLayout(f"S{k}", "M", modules_in_series) for k in range(1, 4))
    return SiteLayout("invented", {"M": module}, (Combiner("C", strings),))


def test_voltage_at_record_low_by_hand() -> None:
    # 48 V (1 + 0.0028 x 45) x 20 = 1080.96 V, worked on paper.
    (combiner,) = electrical_limits(_layout(), temperature_min=-20.0)
    assert combiner.strings[0].v_oc_max == pytest.approx(1080.96)
    assert combiner.strings[0].v_oc_max_nec == pytest.approx(960 * 1.18)
    assert combiner.strings[0].voltage_class == 1500.0
    assert combiner.i_sc_sum == pytest.approx(3 * 12.5)


@pytest.mark.parametrize(
    ("temperature", "factor"),
    [
        (25, 1.0),
        (24, 1.02),
        (20, 1.02),
        (19.5, 1.04),
        (0, 1.10),
        (-1, 1.12),
        (-5, 1.12),
        (-40, 1.25),
    ],
)
def test_nec_rows(temperature: float, factor: float) -> None:
    """Rows of NEC Table 690.7(A), from memory."""
    assert nec_voltage_factor(temperature) == factor


def test_below_the_table_is_not_guessed() -> None:
    assert nec_voltage_factor(-41) is None
    (combiner,) = electrical_limits(_layout(), temperature_min=-45.0)
    assert combiner.strings[0].v_oc_max_nec is None
    assert "ends at -40" in combiner.strings[0].remarks[0]


def test_thin_film_gets_no_silicon_factor() -> None:
    (combiner,) = electrical_limits(_layout("CdTe"), temperature_min=-20.0)
    assert combiner.strings[0].v_oc_max_nec is None
    assert "crystalline" in combiner.strings[0].remarks[0]


def test_a_silicon_technology_that_is_added_to_the_table_gets_the_factor_of_silicon(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(TECHNOLOGY_TABLE, "new-Si", TECHNOLOGY_TABLE["mono-Si"])
    (combiner,) = electrical_limits(_layout("new-Si"), temperature_min=-20.0)
    assert combiner.strings[0].v_oc_max_nec == pytest.approx(960 * 1.18)


def test_ratings_in_words() -> None:
    meter = MeasuringSet("meter 7", voltage=1000.0, current=15.0)
    (combiner,) = electrical_limits(
        _layout(), -20.0, equipment_voltage=1150.0, combiner_current=40.0, measuring_set=meter
    )
    states = [limit.state for limit in combiner.strings[0].limits]
    assert states == ["near", "exceeds", "within"]
    assert "exceeds the rating of meter 7" in combiner.strings[0].limits[1].text
    assert [limit.state for limit in combiner.limits] == ["within"]


@pytest.mark.parametrize(
    ("value", "state"), [(949.9, "within"), (950.0, "near"), (1000.0, "near"), (1000.1, "exceeds")]
)
def test_state_at_the_edges(value: float, state: str) -> None:
    assert Limit("Voc", value, "V", "the rating of", 1000.0, EQUIPMENT).state == state


def test_each_limit_says_whose_rating_it_is() -> None:
    meter = MeasuringSet("the equipment tester", 1500.0, 20.0)
    (combiner,) = electrical_limits(_layout(), -20.0, 1000.0, 32.0, meter)
    whose = [one.whose for one in combiner.strings[0].limits]
    assert whose == [EQUIPMENT, MEASURING_SET, MEASURING_SET]
    assert [one.whose for one in combiner.limits] == [EQUIPMENT]
