"""Confirmed causes and the gain of repairs."""

from datetime import UTC, datetime

import pytest

from tests.analysis.made_results import made_result
from viewer.analysis.causes.confirmation import Confirmation, confirm, field_record, repair_gain

SPRING, SUMMER = datetime(2030, 4, 1, 12), datetime(2030, 7, 1, 12)


def test_there_and_back() -> None:
    one = Confirmation(
        "a.csv", "shading", "cell_fault", "module replaced", ("SN 1", "SN 2"), "A. B.",
        SPRING, "b.csv",
    )  # fmt: skip
    assert Confirmation.from_dict(one.as_dict()) == one
    assert not one.agreed


def test_an_unknown_cause_is_told() -> None:
    with pytest.raises(ValueError, match="soiling"):
        Confirmation("a.csv", "shading", "gremlins")


def test_confirm_or_correct() -> None:
    result = made_result("C1", "S1", 0.9, {"low_current": 400.0})
    assert confirm(result).confirmed == "soiling"
    assert confirm(result, "degradation").agreed is False


def test_gain_of_a_repair() -> None:
    before = made_result("C1", "S1", 0.80, {"step": 800.0}, measured_at=SPRING)
    after = made_result("C1", "S1", 0.97, measured_at=SUMMER, source="retest.csv")
    gain = repair_gain(before, after)
    assert gain.ratio_gain == pytest.approx(0.17)
    assert gain.uncertainty == pytest.approx(0.03 * 2**0.5)
    assert gain.watt_gain == pytest.approx(0.17 * 4500.0)
    assert gain.certain
    assert gain.cleared == ("step",)
    assert gain.remaining == ()
    assert "0.800 to 0.970, by +0.170 (power +21.2 %, +765 W at STC)" in gain.text()


def test_times_with_and_without_a_zone_can_be_compared() -> None:
    before = made_result("C1", "S1", 0.80, measured_at=SPRING)
    after = made_result("C1", "S1", 0.97, measured_at=SUMMER.replace(tzinfo=UTC))
    assert repair_gain(before, after).ratio_gain == pytest.approx(0.17)
    with pytest.raises(ValueError, match="not measured after"):
        repair_gain(after, before)


def test_a_small_gain_is_said_to_be_within_uncertainty() -> None:
    before = made_result("C1", "S1", 0.95, measured_at=SPRING)
    after = made_result("C1", "S1", 0.97, measured_at=SUMMER)
    assert "within its uncertainty of ± 0.042" in repair_gain(before, after).text()


def test_of_a_dead_string_no_percentage_is_told() -> None:
    before = made_result("C1", "S1", 0.0, measured_at=SPRING)
    text = repair_gain(before, made_result("C1", "S1", 0.97, measured_at=SUMMER)).text()
    assert "from 0.000 to 0.970, by +0.970 (+4365 W at STC)" in text


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (made_result("C1", "S1"), made_result("C1", "S2"), "another string"),
        (
            made_result("C1", "S1", measured_at=SUMMER),
            made_result("C1", "S1", measured_at=SPRING),
            "not measured after",
        ),
        (made_result("C1", "S1", None), made_result("C1", "S1"), "prediction"),
    ],
)
def test_what_cannot_be_compared(before, after, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        repair_gain(before, after)


def test_field_record() -> None:
    record = field_record(
        [
            Confirmation("a", "shading", "shading"),
            Confirmation("b", "shading", "cell_fault"),
            Confirmation("c", "shading", "shading"),
        ]
    )
    assert record.rows[0] == ("shading", "shading", 2)
    assert "67 %" in record.text()
    assert record.text().startswith("Of 3 findings settled in the field, 2 were as")
    one = field_record([Confirmation("a", "shading", "shading")])
    assert one.text().startswith("Of 1 finding settled in the field, 1 was as first")
    assert "yet" in field_record([]).text()
