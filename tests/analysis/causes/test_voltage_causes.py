"""Lost groups, a wrong temperature or age."""

from dataclasses import replace

import pytest

from tests.analysis.causes.made_readings import (
    likelihood,
    lost_groups,
    neighbours,
    reading,
    soiled,
)
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.analysis.signatures.signature_words import (
    low_voltage,
    slope_near_voc,
    wrong_temperature,
)
from viewer.analysis.signatures.voltage_reading import read_voltage


def test_whole_number_of_groups_is_a_fault_unless_neighbours_agree() -> None:
    voltage = read_voltage(2 / 60, 0.003, 60, 3, -0.0029, -0.008)
    assert voltage.groups == 2
    alone = rank_causes(lost_groups(voltage))
    assert alone[0].cause == "bypass_short"
    common = rank_causes(lost_groups(voltage), CauseContext(neighbours=neighbours(voltage=-0.045)))
    assert common[0].cause == "temperature_input"
    assert "alike: 12 others deviate by -4.5 % in voltage (median)" in common[1].against


def test_a_little_less_current_beside_less_voltage_may_be_age() -> None:
    low = lost_groups(read_voltage(0.02, 0.004, 60, 3, -0.0029))
    both = replace(low, current_scale=0.965)
    assert likelihood(rank_causes(low), "degradation") < 0.1
    assert likelihood(rank_causes(both), "degradation") > 0.2
    for reading_of in (low, both):
        assert sum(c.likelihood for c in rank_causes(reading_of)) < 1.01


def test_a_loss_of_voltage_that_is_much_for_age_leaves_lost_groups_likely() -> None:
    """Beside dirt a whole group of 30 (3.3 %) keeps four fifths, a little less voltage not."""

    def groups(lost: float) -> float:
        voltage = read_voltage(lost, 0.003, 30, 3, -0.0029)
        both = replace(lost_groups(voltage), current_scale=0.88)
        both = replace(both, signatures=(*both.signatures, *soiled().signatures))
        assert voltage.groups == 1
        return likelihood(rank_causes(both), "bypass_short") / voltage.probability_groups

    assert groups(0.034) == pytest.approx(0.94 * 0.8, abs=0.01)
    assert groups(0.029) == pytest.approx(0.94 * 0.55, abs=0.01)


def test_a_module_s_worth_of_groups_is_a_module() -> None:
    voltage = read_voltage(3 / 60, 0.003, 60, 3, -0.0029, -0.01)
    assert rank_causes(lost_groups(voltage))[0].cause == "module_missing"


@pytest.mark.parametrize("lost", [-0.06, -0.03, 0.0, 0.02, 0.05, 0.2])
def test_probabilities_of_the_voltage_add_up(lost: float) -> None:
    voltage = read_voltage(lost, 0.004, 60, 3, -0.0029)
    total = (
        voltage.probability_healthy + voltage.probability_groups + voltage.probability_temperature
    )
    assert total == pytest.approx(1.0)
    assert voltage.significant == (abs(lost) > 0.012)


def worse_all_round(current_scale: float, series_loss: float) -> SignatureReading:
    voltage = read_voltage(0.0181, 0.0039, 81, 3, -0.0025)
    assert voltage.significant
    return reading(
        signatures=(
            low_voltage(17.8, voltage, voltage.groups, 3, 140.0, 5000.0),
            slope_near_voc(2.7, 0.6, series_loss, 5000.0),
        ),
        voltage=voltage,
        current_scale=current_scale,
        losses={"low_voltage": 140.0, "slope_near_voc": series_loss},
    )


def test_current_voltage_and_resistance_all_a_little_worse_are_age() -> None:
    assert rank_causes(worse_all_round(0.97, 160.0))[0].cause == "degradation"


@pytest.mark.parametrize(("current_scale", "series_loss"), [(1.0, 160.0), (0.97, 700.0)])
def test_full_current_or_much_resistance_are_not(current_scale: float, series_loss: float) -> None:
    assert rank_causes(worse_all_round(current_scale, series_loss))[0].cause == "series_resistance"


def test_the_voltage_of_a_module_more_speaks_against_the_temperature() -> None:
    more = read_voltage(-0.05, 0.004, 60, 3, -0.0029)
    said = reading(signatures=(wrong_temperature(more, 20),), voltage=more)
    assert "more modules than are listed" in rank_causes(said)[0].against
    odd = read_voltage(-0.074, 0.004, 60, 3, -0.0029)
    other = reading(signatures=(wrong_temperature(odd, 20),), voltage=odd)
    assert rank_causes(other)[0].against == ""
