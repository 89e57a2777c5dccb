"""Keys of a trace file that are spelt otherwise, unknown, or contradict the site's layout."""

from datetime import datetime

import pytest

from viewer.reading.visits.visit_folder import open_visit_folder, read_source
from viewer.site_data.iv_trace import Trace

POINTS = "voltage,current\n0,9\n400,8.5\n600,7\n650,5\n700,0\n"
SITE = """\
name = "Two modules"
[module.M-540]
technology = "mono-Si"
i_sc = 13.85
v_oc = 49.6
i_mp = 12.97
v_mp = 41.65
alpha_sc = 0.048
beta_voc = -0.27
gamma_pmp = -0.34
cells_in_series = 72
[module.LIB]
library = "United_Renewable_Energy_Co_Ltd_D7K310H7A"
cells_in_series = 60
[module.LIB-SORTED]
library = "United_Renewable_Energy_Co_Ltd_D7K310H7A"
cells_in_series = 60
[[combiner]]
name = "C1"
string = [
    { name = "S1", module = "M-540", modules_in_series = 20 },
    { name = "S2", module = "LIB-SORTED", modules_in_series = 20 },
]
"""


def read_with(tmp_path, *lines: str, string: str = "S1") -> Trace:
    (tmp_path / "site.toml").write_text(SITE)
    head = "".join(f"# {line}\n" for line in ("combiner: C1", f"string: {string}", *lines))
    (tmp_path / "a.csv").write_text(head + POINTS)
    (trace,) = read_source(open_visit_folder(tmp_path), "a.csv")
    assert isinstance(trace, Trace)
    return trace


def test_a_key_that_says_the_same_in_other_words_is_read_and_told(tmp_path):
    trace = read_with(tmp_path, "Irradiance [kW/m2]: 0.9165", "T_amb: 31 °C", "Comment: dusty")
    assert trace.conditions.poa_global == pytest.approx(916.5)
    assert trace.conditions.temperature_air == 31.0
    assert trace.note == "dusty"
    assert "Line 3: 'irradiance [kw/m2]' was read as poa_global." in trace.remarks
    assert "Line 4: 't_amb' was read as temperature_air." in trace.remarks
    assert "Line 5: 'comment' was read as note." in trace.remarks


def test_the_known_key_counts_beside_one_in_other_words(tmp_path):
    trace = read_with(tmp_path, "irradiance: 500", "poa_global: 900")
    assert trace.conditions.poa_global == 900.0
    (said,) = trace.remarks
    assert said == (
        "This key is none of the format and was not used: 'irradiance' (is poa_global meant?)."
    )


@pytest.mark.parametrize(
    "lines",
    [
        ("Date: 24.06.2025", "Time: 12:31:02"),
        ("Time: 12:31:02", "Date: 2025-06-24"),
        ("timestamp: 2025/06/24 12:31:02",),
        ("time: 2025-06-24 12:31:02",),
    ],
)
def test_a_time_of_measurement_in_other_words(tmp_path, lines):
    trace = read_with(tmp_path, *lines)
    assert trace.measured_at == datetime(2025, 6, 24, 12, 31, 2)
    (said,) = trace.remarks
    assert said.endswith("read as measured_at.")


def test_a_time_of_day_alone_is_no_time_of_measurement(tmp_path):
    trace = read_with(tmp_path, "time: 12:31")
    assert trace.measured_at is None
    assert any("'12:31', not a time such as" in one for one in trace.remarks)


def test_what_only_looks_like_a_key_is_not_used_and_one_sentence_names_it(tmp_path):
    trace = read_with(
        tmp_path,
        "temperature_modul: 53",
        "tempreature_cell: 50",
        "temperature: 31",
        "Operator: A. B.",
        "This was traced under a thin cloud: yes",
    )
    assert trace.conditions.temperature_module is None
    assert trace.conditions.temperature_cell is None
    assert trace.remarks == (
        "These keys are none of the format and were not used: 'temperature_modul' (is "
        "temperature_module meant?), 'tempreature_cell' (is temperature_cell meant?), "
        "'temperature' (of the module, the cell or the air?), 'operator'.",
    )


def test_of_many_unknown_keys_some_are_named(tmp_path):
    trace = read_with(tmp_path, *(f"setting {letter}: 1" for letter in "abcdefghij"))
    (said,) = trace.remarks
    assert said.endswith("'setting f', 4 more.")


@pytest.mark.parametrize("module", ["M-540", "m 540", "M540"])
def test_a_module_that_agrees_with_the_layout_is_nothing_to_tell(tmp_path, module):
    trace = read_with(tmp_path, f"module: {module}")
    assert trace.module == module
    assert trace.remarks == ()


@pytest.mark.parametrize("module", ["LIB", "United Renewable Energy Co Ltd D7K310H7A"])
def test_a_module_that_contradicts_the_layout_is_told(tmp_path, module):
    assert read_with(tmp_path, f"module: {module}").remarks == (
        f"The file says that its modules are '{module[:40]}'; by the site's layout this string "
        "has M-540, which was used.",
    )


def test_a_name_of_two_datasheets_agrees_with_a_string_of_either(tmp_path):
    module = "United Renewable Energy Co Ltd D7K310H7A"
    assert read_with(tmp_path, f"module: {module}", string="S2").remarks == ()


def test_a_module_that_the_layout_does_not_know_is_told(tmp_path):
    (said,) = read_with(tmp_path, "module: XYZ 400").remarks
    assert "'XYZ 400', a name that the site's layout does not know;" in said
