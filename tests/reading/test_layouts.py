"""Tables of many layouts give the same sweep; what is doubtful or wrong is said."""

import io
import json
from datetime import datetime

import numpy as np
import pandas as pd
import pytest

from tests.reading.sweeps import (
    CURRENT,
    POINTS,
    VOLTAGE,
    assert_is_sweep,
    comma,
    lines,
    only_trace,
    read,
)

ONE_TRACE = {
    "semicolon and decimal comma": "Spannung;Strom\n" + comma(lines("{v:.3f};{i:.4f}")),
    "tab, mV and mA in brackets": "U [mV]\tI [mA]\n" + lines("{v:.1f}\t{i:.2f}", (1e3, 1e3)),
    "units in a row beneath": "Voltage,Current\nmV,kA\n" + lines("{v:.1f},{i:.8f}", (1e3, 1e-3)),
    "unit after a slash": "U/V;I/mA\n" + lines("{v:.3f};{i:.2f}", (1, 1e3)),
    "pipe": "V|I\n" + lines("{v:.3f}|{i:.4f}"),
    "spaces": "# V I\n" + lines("  {v:10.3f}   {i:10.4f}"),
    "spaces with units": "Voltage (V)  Current (A)\n" + lines("{v:9.3f} {i:9.4f}"),
    "thousands in quotes": '"V [mV]","I [mA]"\n' + lines('"{v:,.1f}","{i:,.2f}"', (1e3, 1e3)),
    "thousands by apostrophe": "V [mV];I [A]\n"
    + lines("{v:,.1f};{i:.4f}", (1e3, 1)).replace(",", "'"),
    "columns the other way, more columns": "P (W),Current (A),Time,Voltage (V)\n"
    + "".join(
        f"{v * i:.2f},{i:.4f},10:15:{n % 60:02},{v:.3f}\n" for n, (v, i) in enumerate(POINTS)
    ),
    "unit behind each number": "Voltage;Current\n" + lines("{v:.3f} V;{i:.4f} A"),
    "index column without a name": '"","Voltage","Current"\n'
    + "".join(f'"{n}",{v:.3f},{i:.4f}\n' for n, (v, i) in enumerate(POINTS, 1)),
    "index column beyond the heading": "Voltage Current\n"
    + "".join(f"{n} {v:.3f} {i:.4f}\n" for n, (v, i) in enumerate(POINTS, 1)),
    "blank line after every row": "Voltage;Current\n" + lines("{v:.3f};{i:.4f}\n"),
    "separator named first": "sep=;\nVoltage;Current\n" + comma(lines("{v:.3f};{i:.4f}")),
    "key points above": "Isc,9.0\nVoc,708\nPmax,5000,W\nFF,0.74\nV,I\n" + lines("{v:.3f},{i:.4f}"),
    "corrected columns beside": "V,I,V corrected,I corrected\n"
    + lines("{v:.3f},{i:.4f},1{v:.3f},2{i:.4f}"),
}


@pytest.mark.parametrize("layout", ONE_TRACE)
def test_one_trace_of_each_layout(layout):
    reading = read(ONE_TRACE[layout])
    only_trace(reading)
    assert reading.doubts == ()
    assert reading.reasons != ()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding, line_end):
    text = "Größe: klein\nTemperatur Modul (°C): 45.5\nU (V);I (A)\n" + lines("{v:.3f};{i:.4f}")
    trace = only_trace(read(text.replace("\n", line_end).encode(encoding)))
    assert trace.conditions.temperature_module == 45.5


def test_nul_bytes_are_left_out_and_told():
    reading = read(b"V,I\n" + lines("{v:.3f},{i:.4f}").encode() + b"\0" * 99)
    only_trace(reading)
    assert reading.doubts == ("Left out: 99 NUL characters.",)


PREAMBLES = {
    "colon": "Irradiance: 812.5 W/m2\nModule temperature: 45.3 °C\nString: S7\n"
    "Date: 2024-05-17\nTime: 10:15:30\n\n",
    "equals": "poa = 812.5\nT_mod = 45.3\nstring = S7\ntimestamp = 2024-05-17 10:15:30\n",
    "cells": "Einstrahlung;812,5;W/m²\nModultemperatur (°C);45,3\nStrang;S7\nDatum;17.05.2024\n"
    "Uhrzeit;10:15:30\n",
    "kilowatts, kelvin": "G (kW/m²): 0.8125\nTmod [K]: 318.45\nString ID: S7\n"
    "Date: 17 May 2024 10:15:30\n",
    "one line": "Irr: 812.5; Tmod: 45.3; String: S7; Date: 17.05.2024 10:15:30\n",
    "tags": "<irradiance>812.5</irradiance>\n<tmod>45.3</tmod>\n<string>S7</string>\n"
    "<timestamp>2024-05-17T10:15:30</timestamp>\n",
    "remark marks": "% irradiance: 812.5\n% module temp: 45.3\n% string: S7\n"
    "% date: 05/17/2024 10:15:30\n",
}


@pytest.mark.parametrize("style", PREAMBLES)
def test_conditions_from_preambles(style):
    table = "U;I\n" + lines("{v:.3f};{i:.4f}")
    trace = only_trace(read(PREAMBLES[style] + (comma(table) if style == "cells" else table)))
    assert trace.conditions.poa_global == pytest.approx(812.5)
    assert trace.conditions.temperature_module == pytest.approx(45.3)
    assert trace.conditions.temperature_cell is None
    assert trace.string == "S7"
    assert trace.measured_at == datetime(2024, 5, 17, 10, 15, 30)


@pytest.mark.parametrize(
    ("front", "rear"),
    [
        ("Einstrahlung [W/m²]", "Einstrahlung Rückseite [W/m²]"),
        ("Irradiance front (W/m2)", "Irradiance back side (W/m2)"),
        ("Irradiancia (W/m2)", "Irradiancia trasera (W/m2)"),
    ],
)
def test_light_behind_the_modules_is_never_taken_for_that_before_them(front, rear):
    table = "U;I\n" + lines("{v:.3f};{i:.4f}")
    both = only_trace(read(f"{rear}: 81.5\n{front}: 812.5\n{table}")).conditions
    assert (both.poa_global, both.poa_rear) == (812.5, 81.5)
    alone = only_trace(read(f"{rear}: 81.5\n{table}")).conditions
    assert (alone.poa_global, alone.poa_rear) == (None, 81.5)
    albedo = only_trace(read(f"Albedo irradiance (W/m2): 150\n{table}")).conditions
    assert (albedo.poa_global, albedo.poa_rear) == (None, None)


def test_a_column_called_time_may_hold_days_with_their_times():
    day = "".join(f"2024-04-22T11:13:00-0500\t{v:.3f}\t{i:.4f}\n" for v, i in POINTS)
    trace = only_trace(read("time\tU\tI\n" + day))
    assert trace.measured_at == datetime.fromisoformat("2024-04-22T11:13:00-05:00")
    seconds = "".join(f"{n * 0.01:.2f}\t{v:.3f}\t{i:.4f}\n" for n, (v, i) in enumerate(POINTS))
    assert only_trace(read("time\tU\tI\n" + seconds)).measured_at is None


def test_what_is_not_certain_is_left_out_and_told():
    reading = read("Temperature: 45\nDate: 05/06/2024\nV,I\n" + lines("{v:.3f},{i:.4f}"))
    trace = only_trace(reading)
    assert vars(trace.conditions) == vars(type(trace.conditions)())
    assert trace.measured_at is None
    assert any("module, the cell or the air" in doubt for doubt in reading.doubts)
    assert any("day/month or month/day" in remark for remark in trace.remarks)


@pytest.mark.parametrize(
    "content",
    [
        lines("{i:.4f},{v:.3f}"),
        "".join(f"{n},{i:.4f},{v:.3f},{v * i:.3f}\n" for n, (v, i) in enumerate(POINTS)),
        "left;right\n" + lines("{i:.4f};{v:.3f}"),
    ],
)
def test_columns_without_names_are_told_by_shape_and_marked_doubtful(content):
    reading = read(content)
    only_trace(reading)
    assert any("told by the shape" in doubt for doubt in reading.doubts)


def test_a_negative_current_is_turned_with_a_doubt():
    reading = read("Voltage;Current\n" + lines("{v:.3f};{i:.4f}", (1, -1)))
    only_trace(reading)
    assert reading.doubts == ("The current is mostly negative; its sign was turned.",)


def test_values_too_large_for_volts_are_taken_as_millivolts_with_a_doubt():
    reading = read("Voltage;Current\n" + lines("{v:.1f};{i:.4f}", (1e3, 1)))
    only_trace(reading)
    assert "taken as mV" in reading.doubts[0]


BLOCK = "String: S{n}\nIrradiance: 80{n} W/m2\nVoltage,Current\n" + lines("{v:.3f},{i:.4f}")
SEVERAL = {
    "below each other": "\n".join(BLOCK.replace("{n}", str(n)) for n in (1, 2, 3)),
    "long": "string,irradiance,voltage,current\n"
    + "".join(lines(f"S{n},80{n},{{v:.3f}},{{i:.4f}}") for n in (1, 2, 3)),
    "long, rows mixed": "string,irradiance,voltage,current\n"
    + "".join(f"S{n},80{n},{v:.3f},{i:.4f}\n" for v, i in POINTS for n in (1, 2, 3)),
    "wide in pairs": "S1 V,S1 I,S2 V,S2 I,S3 V,S3 I\n" + lines(",".join(["{v:.3f},{i:.4f}"] * 3)),
    "wide with a heading above": "S1,,S2,,S3,\nV (V),I (A),V (V),I (A),V (V),I (A)\n"
    + lines(",".join(["{v:.3f},{i:.4f}"] * 3)),
    "wide, one voltage": "Voltage (V),I S1 (A),I S2 (A),I S3 (A)\n"
    + lines("{v:.3f}" + ",{i:.4f}" * 3),
}


@pytest.mark.parametrize("layout", SEVERAL)
def test_several_traces_in_one_file(layout):
    reading = read(SEVERAL[layout])
    assert reading.failures == ()
    assert [trace.string for trace in reading.traces] == ["S1", "S2", "S3"]
    assert [trace.source for trace in reading.traces] == ["a.csv#S1", "a.csv#S2", "a.csv#S3"]
    for number, trace in enumerate(reading.traces, start=1):
        assert_is_sweep(trace)
        if "wide" not in layout:
            assert trace.conditions.poa_global == 800 + number


def test_conditions_given_once_for_several_tables_carry_a_remark():
    block = lines("{v:.3f},{i:.4f}")
    reading = read("Irradiance: 812\nVoltage,Current\n" + "\n\n".join([block] * 3))
    assert [trace.conditions.poa_global for trace in reading.traces] == [812.0] * 3
    assert "given once for the whole file" in " ".join(reading.traces[2].remarks)


def test_irradiance_beside_each_point_gives_mean_and_end():
    content = "V;I;G\n" + "".join(
        f"{v:.3f};{i:.4f};{800 + n / 2:.1f}\n" for n, (v, i) in enumerate(POINTS)
    )
    conditions = only_trace(read(content)).conditions
    assert conditions.poa_global == pytest.approx(800 + 59 / 4)
    assert conditions.poa_global_end == 829.5


def test_a_sweep_cut_in_two_by_text_is_doubtful():
    half = len(POINTS) // 2
    text = "V;I\n" + lines("{v};{i}", points=POINTS[:half]) + "a cloud came\n"
    reading = read(text + lines("{v};{i}", points=POINTS[half:]))
    assert any("may go on the sweep above" in doubt for doubt in reading.doubts)


@pytest.mark.parametrize(
    "document",
    [
        {"string": "S1", "irradiance": 812, "data": {"v": VOLTAGE.tolist(), "i": CURRENT.tolist()}},
        {"string": "S1", "irradiance": 812, "points": [{"v": v, "i": i} for v, i in POINTS]},
        [{"string": "S1", "irradiance": 812, "v": v, "i": i} for v, i in POINTS],
    ],
)
def test_json(document):
    trace = only_trace(read(json.dumps(document), "a.json"))
    assert trace.string == "S1"
    assert trace.conditions.poa_global == 812


def test_workbooks_with_several_sheets_and_parquet():
    table = pd.DataFrame({"Voltage (V)": VOLTAGE, "Current (mA)": CURRENT * 1000})
    stream = io.BytesIO()
    with pd.ExcelWriter(stream) as book:
        table.to_excel(book, sheet_name="S1", index=False, startrow=3)
        table.to_excel(book, sheet_name="S2")
        pd.DataFrame({"about": ["invented"]}).to_excel(book, sheet_name="about")
    traces = read(stream.getvalue(), "a.xlsx").traces
    assert [trace.source for trace in traces] == ["a.xlsx#S1", "a.xlsx#S2"]
    for trace in traces:
        assert_is_sweep(trace)
    stream = io.BytesIO()
    table.to_parquet(stream)
    only_trace(read(stream.getvalue(), "a.parquet"))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "a.csv is empty"),
        ("hello\nworld\n", "no line with two numbers"),
        ("V;I\n1;2\n", "holds one point"),
        ("Time;Current\n" + lines("{v};{i}"), "line 1: there is no voltage column, only 'Time', "),
        ("Foo;Bar\n" + "1;2\n" * 9, "line 1: there is no voltage and no current column"),
        ("V;I\n" + lines("{v};{i}") + "9;abc\n" + lines("{v};{i}"), "line 62: column 2 'I' holds"),
        ("%PDF-1.7\n", "is a PDF document"),
        (b"\xd0\xcf\x11\xe0" + bytes(99), "old Excel"),
        ('{"v": [1, 2', "line 1: not valid JSON"),
        ('{"a": 1}', "no lists of numbers"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(content, says):
    reading = read(content)
    assert reading.traces == ()
    (failure,) = reading.failures
    assert says in failure.problem
    assert failure.problem.startswith("a.csv")
    assert "\n" not in failure.problem


def test_numbers_arrive_unchanged():
    values = [(float(v), float(i)) for v, i in np.random.default_rng(3).uniform(0, 9, (50, 2))]
    trace = read("v;i\n" + lines("{v!r};{i!r}", points=values)).traces[0]
    assert list(zip(trace.voltage.tolist(), trace.current.tolist(), strict=True)) == values
