"""What one line says of a trace."""

from dataclasses import replace

import pytest

from tests.invented_results import invented_result
from viewer.reports.result_table import finding_text


@pytest.mark.parametrize(
    ("ratio", "extra", "said"),
    [
        (0.952, 0.041, "4.8 % less power than predicted, none of it told by the shape"),
        (0.97, 0.041, "as expected"),
        (1.06, 0.041, "as expected"),
    ],
)
def test_a_string_without_a_signature(ratio: float, extra: float, said: str) -> None:
    """The list of strings calls the first of them short of power; so does the line."""
    found = replace(invented_result(), power_ratio=ratio, power_ratio_uncertainty=extra)
    assert finding_text(found) == said
