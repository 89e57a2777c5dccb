"""Tidy tables: three lines from a folder, and nothing lost on the way out and back."""

from datetime import UTC, datetime

import numpy as np
import openpyxl
import pandas as pd
import pyarrow.parquet
import pytest

from viewer.reading.file_reading import read_file
from viewer.reports.table_export import ExportError, column_table, export_table
from viewer.reports.trace_tables import open_tables, point_table, trace_table
from viewer.site_data.cell_text import original_text, plain_cell
from viewer.site_data.iv_trace import MeasuredConditions, Trace

RNG = np.random.default_rng(7)
DANGEROUS = '=HYPERLINK("x")'


def invented(number: int, string: str) -> Trace:
    voltage = np.sort(RNG.uniform(0, 700, 30))
    conditions = MeasuredConditions(poa_global=RNG.uniform(700, 900), temperature_cell=45.5)
    return Trace(
        source=f"CB1/{number}.csv",
        voltage=voltage,
        current=9 * (1 - np.exp((voltage - 701) / 40)),
        combiner="CB1",
        string=string,
        measured_at=datetime(2024, 5, 17, 10, number, tzinfo=UTC),
        conditions=conditions,
        serial="0042",
        note="+dust",
    )


TRACES = [invented(1, DANGEROUS), invented(2, "-S2"), invented(3, "'=S3")]


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".parquet"])
def test_traces_come_back_unchanged(ending, tmp_path):
    path = tmp_path / f"points{ending}"
    export_table(point_table(TRACES), path)
    reading = read_file(path, path.name)
    assert reading.failures == ()
    assert len(reading.traces) == len(TRACES)
    tolerance = 5e-16 if ending == ".xlsx" else 0.0  # a sheet holds 16 digits of a number
    for back, trace in zip(reading.traces, TRACES, strict=True):
        np.testing.assert_allclose(back.voltage, trace.voltage, rtol=tolerance)
        np.testing.assert_allclose(back.current, trace.current, rtol=4 * tolerance)
        irradiance = pytest.approx(trace.conditions.poa_global, rel=tolerance, abs=0)
        assert back.conditions.poa_global == irradiance
        assert back.conditions.temperature_cell == trace.conditions.temperature_cell
        assert (back.combiner, back.string) == (trace.combiner, trace.string)
        assert (back.serial, back.note) == (trace.serial, trace.note)
        assert back.measured_at == trace.measured_at


def test_no_cell_of_a_csv_file_is_a_formula(tmp_path):
    path = tmp_path / "traces.csv"
    export_table(trace_table(TRACES), path)
    cells = pd.read_csv(path, dtype=str).to_numpy().ravel()
    texts = [cell for cell in cells if isinstance(cell, str)]
    assert any("HYPERLINK" in cell for cell in texts)
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in texts)


def test_no_cell_of_a_workbook_is_a_formula(tmp_path):
    path = tmp_path / "traces.xlsx"
    export_table(trace_table(TRACES), path)
    cells = [cell for row in openpyxl.load_workbook(path)["table"] for cell in row]
    assert DANGEROUS in [cell.value for cell in cells]
    assert all(cell.data_type != "f" for cell in cells)


@pytest.mark.parametrize("text", ["=1", "'=1", "''+2", "plain", "'quoted'", "", "-", "@x", "\t"])
def test_disarmed_text_can_be_read_back(text):
    assert original_text(plain_cell(text)) == text


def test_units_and_meanings_go_with_every_file(tmp_path):
    points = point_table(TRACES)
    about = column_table(points).set_index("column")
    assert about.loc["poa_global", "unit"] == "W/m²"
    assert about.loc["voltage", "unit"] == "V"
    assert (about["meaning"] != "").all()
    export_table(points, tmp_path / "a.csv")
    assert len(pd.read_csv(tmp_path / "a.columns.csv")) == points.shape[1]
    export_table(points, tmp_path / "a.xlsx")
    assert len(pd.read_excel(tmp_path / "a.xlsx", sheet_name="columns")) == points.shape[1]
    export_table(points, tmp_path / "a.parquet")
    field = pyarrow.parquet.read_schema(tmp_path / "a.parquet").field("current")
    assert field.metadata[b"unit"] == b"A"


def test_another_ending_is_refused(tmp_path):
    with pytest.raises(ExportError, match="must end in one of"):
        export_table(point_table(TRACES), tmp_path / "a.doc")


def test_three_lines_from_a_folder_to_tables(tmp_path):
    points = "".join(f"{v},{9 * (1 - np.exp((v - 700) / 40)):.4f}\n" for v in range(0, 701, 7))
    (tmp_path / "S1.csv").write_text("# poa_global: 900\nvoltage,current\n" + points)
    (tmp_path / "bad.csv").write_text("voltage,current\n")
    tables = open_tables(tmp_path)
    assert tables.traces["trace"].tolist() == ["S1.csv"]
    assert tables.key_points["of"].tolist() == ["measured"]
    assert tables.key_points["i_sc"][0] == pytest.approx(9.0, abs=0.01)
    assert tables.key_points["v_oc"][0] == pytest.approx(700.0, abs=1.0)
    assert len(tables.points) == 101
    assert list(tables.findings.columns)[:3] == ["trace", "what", "name"]
    assert tables.unreadable["trace"].tolist() == ["bad.csv"]
