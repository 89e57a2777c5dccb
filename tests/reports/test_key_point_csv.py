import csv
from dataclasses import replace

import pytest

from tests.invented_results import invented_result
from viewer.reports.key_point_csv import save_key_points


def read(path):
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_numbers_come_back_as_they_were(tmp_path):
    result = invented_result(loss=0.1)
    save_key_points([result], tmp_path / "k.csv")
    (line,) = read(tmp_path / "k.csv")
    assert float(line["measured p_mp [W]"]) == pytest.approx(result.measured.p_mp, rel=1e-7)
    assert float(line["predicted i_sc [A]"]) == pytest.approx(result.predicted.i_sc, rel=1e-7)
    assert float(line["power_ratio"]) == pytest.approx(result.power_ratio, rel=1e-7)
    assert line["measured_at"] == "2024-06-03T11:00:00"


def test_what_is_not_known_is_empty(tmp_path):
    save_key_points([invented_result(with_prediction=False)], tmp_path / "k.csv")
    (line,) = read(tmp_path / "k.csv")
    assert line["predicted p_mp [W]"] == ""
    assert line["poa_global [W/m2]"] == ""
    assert line["measured p_mp [W]"] != ""


def test_a_name_that_a_spreadsheet_would_compute_is_disarmed(tmp_path):
    result = invented_result()
    result = replace(result, trace=replace(result.trace, string="=1+1"))
    save_key_points([result], tmp_path / "k.csv")
    assert read(tmp_path / "k.csv")[0]["string"] == "'=1+1"
