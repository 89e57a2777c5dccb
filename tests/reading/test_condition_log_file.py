"""Logs of irradiance and temperature in a separate file."""

import numpy as np
import pytest

from viewer.reading.condition_log_file import read_condition_log
from viewer.reading.notation.limits import UnreadableFileError

TIMES = {
    "ISO with offset": ("2024-05-17T10:00:00+02:00", "2024-05-17T10:01:00+02:00", True),
    "ISO": ("2024-05-17 10:00:00", "2024-05-17 10:01:00", False),
    "day first": ("17.05.2024 10:00", "17.05.2024 10:01", False),
    "slashes": ("17/05/2024 10:00", "17/05/2024 10:01", False),
    "seconds since 1970": ("1715932800", "1715932860", True),
}


@pytest.mark.parametrize("style", TIMES)
def test_times_of_many_styles(style, tmp_path):
    one, two, zoned = TIMES[style]
    path = tmp_path / "log.csv"
    path.write_text(f"Timestamp;Irradiance (kW/m²);Tmod;Rain\n{one};0,8;45,5;a\n{two};0,82;;b\n")
    log = read_condition_log(path)
    assert log.zoned is zoned
    assert log.times[1] - log.times[0] == 60
    expected = 1715932800.0 if zoned else 1715940000.0  # 10:00 as if it were UTC
    assert log.times[0] == expected
    np.testing.assert_allclose(log.values["poa_global"], [800, 820])
    np.testing.assert_array_equal(log.values["temperature_module"], [45.5, np.nan])
    assert any("poa_global is column 2" in remark for remark in log.remarks)


def test_date_and_time_in_two_columns_and_rows_in_any_order(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("Date,Time,G\n2024-05-17,10:01,820\n2024-05-17,10:00,800\n")
    log = read_condition_log(path)
    np.testing.assert_array_equal(log.values["poa_global"], [800, 820])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Timestamp;Rain\n2024-05-17 10:00;1\n2024-05-17 10:01;1\n", "no column is named"),
        ("Timestamp;G;x\nnoon;800;1\nlater;820;1\n", "needs a column of times"),
        ("Timestamp;G;x\n05/06/2024;800;1\n06/06/2024;820;1\n", "day/month or month/day"),
        ("nothing\n", "no table of times and readings"),
    ],
)
def test_a_log_that_cannot_be_used_is_one_sentence(text, says, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(UnreadableFileError, match=says):
        read_condition_log(path)
