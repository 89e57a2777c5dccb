"""Documents of any size and with any words in them, read back from what was written."""

import re
import subprocess
from dataclasses import replace

import openpyxl
import pytest
from matplotlib.image import imsave
from reportlab.platypus import KeepInFrame, PageBreak, Spacer

from tests.invented_results import invented_layout, invented_result
from tests.reports.report_orders import many_layout, many_results, order, told
from tests.reports.written_documents import pages, pdf_text, written
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.conditions.condition_thresholds import ConditionThresholds
from viewer.reports.annotation import Annotation, PlacedAnnotation
from viewer.reports.document import pdf_document
from viewer.reports.document.content import FigureBlock, TableBlock
from viewer.site_data.report_details_file import EnteredDetails, EnteredRepair
from viewer.state.program.chosen_settings import ChosenSettings
from viewer.state.reporting.report_making import KINDS, make_document, write_report

HOSTILE = '<b>bold</b> & "quotes" <para> $x_1$ =cmd|calc'
FORMULA = "=HYPERLINK(1)"


@pytest.mark.parametrize("kind", KINDS)
def test_every_document_states_what_a_report_must(tmp_path, kind):
    made = order(
        kind,
        many_results(3),
        many_layout(3),
        client="Client A",
        tester="Tester B",
        qualification="Qualified C",
        weather="clear, light wind",
        instruments=("tracer, serial 7, calibrated 2025-01-31",),
        remarks="A remark.",
    )
    said = pdf_text(written(made, tmp_path / "r.pdf"))
    flat = " ".join(said.split())
    for words in (
        "Client A",
        "Tester B",
        "Qualified C",
        "clear, light wind",
        "tracer, serial 7, calibrated 2025-01-31",
        "A remark.",
        "2025-07-01",
        "2025-06-05",
        "Curvewright 0",
        "IEC 60891 procedure 2",
        "Condition checks that failed",
        "Uncertainty of the inputs",
        "Limits of the method",
        "Cautions",
        "Datasheets used",
        "single-diode model",
    ):
        assert words in flat
    assert "safe" not in said.lower()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("count", [0, 1, 12])
def test_pages_are_numbered_listed_and_the_summary_is_one(tmp_path, kind, count):
    made = order(kind, many_results(count), many_layout(max(1, count)))
    found = pages(written(made, tmp_path / "r.pdf"))
    for number, page in enumerate(found, start=1):
        assert f"page {number} of {len(found)}" in page
    assert "Summary" in found[0]
    assert "Contents" in found[1]
    listed = re.findall(r"^\s*(.+?)[ .]{4,}(\d+)$", found[1], re.MULTILINE)
    assert len(listed) >= 2
    for heading, page in listed:
        assert heading.split(" (")[0][:30] in found[int(page) - 1]


def test_table_heads_are_repeated_on_every_page(tmp_path):
    made = order("yearly", many_results(120, every=200), many_layout(120), plots=False)
    found = pages(written(made, tmp_path / "r.pdf"))
    with_rows = [page for page in found if "as expected" in page and "Summary" not in page]
    assert len(with_rows) >= 2
    for page in with_rows:
        assert "What it shows" in page


def test_a_heading_never_stands_alone_at_the_foot(tmp_path):
    made = order("recommendations", many_results(14), many_layout(14))
    for page in pages(written(made, tmp_path / "r.pdf")):
        lines = [line.strip() for line in page.splitlines() if line.strip()]
        assert not re.fullmatch(r"C\d+ S\d+, \d{4}-\d\d-\d\d", lines[-2])


def test_text_from_people_and_files_is_printed_as_it_stands(tmp_path):
    one = told(invented_result("C1", "S1"))
    trace = replace(one.trace, note=HOSTILE, string=HOSTILE, serial="<i>7</i>")
    one = replace(one, trace=trace)
    layout = replace(invented_layout(1, 1), name=HOSTILE)
    made = order(
        "recommendations",
        (one,),
        layout,
        client=HOSTILE,
        remarks=HOSTILE,
        instruments=(HOSTILE,),
        texts={trace.source: HOSTILE},
    )
    flat = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split())
    assert flat.count("<b>bold</b> & ") >= 6
    assert "serial <i>7</i>" in flat


def test_a_workbook_holds_numbers_and_no_formulas(tmp_path):
    one = told(invented_result("C1", "S1", loss=0.1))
    one = replace(one, trace=replace(one.trace, string=FORMULA, source=FORMULA))
    layout = replace(invented_layout(1, 1), name=FORMULA)
    path = written(order("recommendations", (one,), layout, client=FORMULA), tmp_path / "r.xlsx")
    book = openpyxl.load_workbook(path)
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert [cell for cell in cells if cell.value == f"'{FORMULA}"]
    sheet = book["Key points"]
    heads = [cell.value for cell in sheet[1]]
    values = dict(zip(heads, [cell.value for cell in sheet[2]], strict=True))
    assert values["Pmp measured (W)"] == one.measured.p_mp
    assert values["Voc predicted (V)"] == one.predicted.v_oc
    assert values["Isc translated (A)"] == one.translated.i_sc


def test_workbook_sheets_have_different_names_however_long(tmp_path):
    made = order("yearly", many_results(4), many_layout(4))
    path = written(made, tmp_path / "r.xlsx")
    names = openpyxl.load_workbook(path).sheetnames
    assert len(names) == len(set(names)) == len(make_document(made).tables()) + 1
    assert all(len(name) <= 31 for name in names)


def test_what_is_not_known_is_a_dash_on_paper_and_an_empty_cell(tmp_path):
    bare = invented_result("C1", "S1", with_prediction=False)
    made = order("recommendations", (bare,), invented_layout(1, 1), strings=(bare.trace.source,))
    assert "–" in pdf_text(written(made, tmp_path / "r.pdf"))
    sheet = openpyxl.load_workbook(written(made, tmp_path / "r.xlsx"))["Key points"]
    heads = [cell.value for cell in sheet[1]]
    values = dict(zip(heads, [cell.value for cell in sheet[2]], strict=True))
    assert values["Pmp predicted (W)"] is None
    assert values["Pmp measured (W)"] == bare.measured.p_mp


@pytest.mark.parametrize("kind", KINDS)
def test_very_long_names_stay_within_the_margins(tmp_path, kind):
    long = "W" * 150
    results = tuple(
        replace(one, trace=replace(one.trace, combiner=long, string=long, source=long, serial=long))
        for one in many_results(2)
    )
    layout = replace(many_layout(2), name=long)
    made = order(kind, results, layout, client=long, tester=long, title=long, remarks=long * 20)
    path = written(made, tmp_path / "r.pdf")
    run = ["pdftotext", "-bbox", str(path), "-"]
    boxes = subprocess.run(run, capture_output=True, check=True, text=True).stdout
    right = [float(x) for x in re.findall(r'xMax="([\d.]+)"', boxes)]
    assert right
    # A4 is 595.3 points wide, the margin 42.5; the legend of a plot may use it.
    assert max(right) <= 595.3 - 8
    assert "Contents" in pages(path)[1]


def test_the_summary_shrinks_into_one_page(tmp_path):
    made = order(
        "recommendations",
        many_results(40, every=3),
        many_layout(40),
        plots=False,
        remarks="Words. " * 120,
    )
    found = pages(written(made, tmp_path / "r.pdf"))
    assert "What to do first" in found[0]
    assert found[1].strip().startswith("Contents")


def test_long_remarks_stand_in_full_with_the_method(tmp_path):
    words = " ".join(f"word{n}" for n in range(400))
    made = order("warranty", many_results(1), many_layout(1), remarks=words)
    found = pages(written(made, tmp_path / "r.pdf"))
    assert "word0 " in found[0]
    assert "word399" not in found[0]
    assert "word399" in "".join(found[2:])


def test_the_decimal_comma_reaches_numbers_but_not_names(tmp_path):
    one = told(invented_result("C1", "S1.5", loss=0.1))
    one = replace(one, trace=replace(one.trace, source="2025.5/x 1.5.csv", note="note 1.5"))
    made = order("warranty", (one,), invented_layout(1, 1), decimal_comma=True)
    flat = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split())
    assert "2025.5/x 1.5.csv" in flat
    made = order("recommendations", (one,), invented_layout(1, 1), decimal_comma=True)
    flat = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split())
    for words in ("10,5 % below", "S1.5", "note 1.5", "50,0 °C", "0,7", "Curvewright 0."):
        assert words in flat
    assert f"{one.measured.v_oc:.2f}".replace(".", ",") in flat
    assert not re.search(r"\d\.\d+ %", flat)


def test_chosen_strings_own_words_and_no_plots(tmp_path):
    results = many_results(4, visits=1)
    wanted = results[2].trace
    made = order(
        "recommendations",
        results,
        many_layout(4),
        strings=(wanted.source,),
        texts={wanted.source: "Connector K7 burnt."},
        plots=False,
        title="My own title",
    )
    found = pages(written(made, tmp_path / "r.pdf"))
    details = [page for page in found if "Key points C" in page]
    assert len(details) == 1
    assert "Key points C1 S03" in details[0]
    assert "Connector K7 burnt." in details[0]
    assert "Voltage (V)" not in details[0]
    assert "My own title" in found[0]


def test_plots_are_lines_and_letters_not_pictures(tmp_path):
    path = written(order("recommendations", many_results(2), many_layout(2)), tmp_path / "r.pdf")
    said = pdf_text(path)
    assert "Voltage (V)" in said
    assert "predicted" in said
    images = ["pdfimages", "-list", str(path)]
    listed = subprocess.run(images, capture_output=True, check=True, text=True).stdout
    assert len(listed.splitlines()) == 2


def test_marks_are_printed_with_their_plot(tmp_path):
    results = many_results(2, visits=1)
    trace = results[0].trace.source
    mark = Annotation("callout", "pv", "measured", ((0.0, 0.0), (300.0, 4000.0)), "hot $5", 150)
    other = Annotation("text", "iv", "stc", ((100.0, 3.0),), "elsewhere")
    marks = (PlacedAnnotation(1, trace, mark), PlacedAnnotation(2, trace, other))
    made = replace(order("recommendations", results, many_layout(2)), marks=marks)
    found = pages(written(made, tmp_path / "r.pdf"))
    with_mark = [page for page in found if "hot $5" in page]
    assert len(with_mark) == 1
    assert "Key points C1 S01" in with_mark[0]
    assert "elsewhere" not in "".join(found)
    assert "Marks made on other plots of this string, not printed: 1." in with_mark[0]


def test_marks_on_a_repaired_string_are_printed_on_the_curve_they_were_made_on(tmp_path):
    """At STC the measured point lies elsewhere: the marked curve is printed as measured, too."""
    results = many_results(2)
    before, after = results[0].trace, results[2].trace
    assert (before.string, after.string) == ("S01", "S01")
    places = ((0.0, 0.0), (300.0, 4000.0))
    marks = (
        PlacedAnnotation(
            1, after.source, Annotation("callout", "pv", "measured", places, "now", 9)
        ),
        PlacedAnnotation(
            2, before.source, Annotation("text", "iv", "measured", ((9.0, 3.0),), "was")
        ),
        PlacedAnnotation(3, after.source, Annotation("text", "iv", "stc", ((9.0, 3.0),), "at stc")),
        PlacedAnnotation(4, after.source, Annotation("text", "iv", "relative", ((1.0, 1.0),), "r")),
        PlacedAnnotation(5, after.source, Annotation("text", "iv", "relative", ((1.0, 1.0),), "s")),
    )
    done = EnteredRepair("C1", "S01", "2025-01-01", "mended")
    made = replace(order("troubleshooting", results, many_layout(2)), marks=marks)
    made = replace(made, details=EnteredDetails({}, (done,)))
    section = next(one for one in make_document(made).sections if one.heading.startswith("C1 S01"))
    figures = [one for one in section.blocks if isinstance(one, FigureBlock)]
    drawn = [(one.figure.title, [mark.mark.text for mark in one.marks]) for one in figures]
    assert drawn == [
        ("Translated to STC", ["at stc"]),
        ("As measured", ["now"]),
        ("As measured", ["was"]),
    ]
    said = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split())
    assert "Marks made on other plots of this string, not printed: 2." in said
    for words in ("now", "was", "at stc"):
        assert words in said


def test_a_logo_keeps_its_shape(tmp_path):
    logo = tmp_path / "logo.png"
    imsave(logo, [[[0.0, 0.3, 0.6]] * 300] * 20)
    picture = pdf_document._logo(logo)
    assert picture.drawWidth / picture.drawHeight == pytest.approx(15)
    assert picture.drawWidth <= pdf_document.LOGO_WIDTH
    path = written(
        order("recommendations", many_results(1), many_layout(1), logo=logo), tmp_path / "r.pdf"
    )
    images = ["pdfimages", "-list", str(path)]
    listed = subprocess.run(images, capture_output=True, check=True, text=True).stdout
    assert " 300 " in listed


def test_a_logo_that_is_no_picture_is_refused_in_one_sentence(tmp_path):
    logo = tmp_path / "logo.png"
    logo.write_text("not a picture")
    made = order("recommendations", many_results(1), many_layout(1), logo=logo)
    with pytest.raises(ValueError, match=r"logo\.png: the logo cannot be read; give a PNG"):
        written(made, tmp_path / "r.pdf")
    assert not (tmp_path / "r.pdf").exists()


def test_giving_up_leaves_no_file(tmp_path):
    steps = write_report(
        order("recommendations", many_results(5), many_layout(5)), [tmp_path / "r.pdf"]
    )
    first = next(steps)
    assert 0 < first.done < (first.total or 0)
    steps.close()
    assert list(tmp_path.iterdir()) == []


def test_another_suffix_is_refused(tmp_path):
    with pytest.raises(ValueError, match=r"r\.doc: a report is a \.pdf or an \.xlsx file"):
        written(order("yearly", (), many_layout(1)), tmp_path / "r.doc")


def test_rows_are_as_long_as_their_heads():
    for kind in KINDS:
        document = make_document(order(kind, many_results(3), many_layout(3)))
        for block in document.tables():
            assert isinstance(block, TableBlock)
            assert {len(row) for row in block.rows} <= {len(block.columns)}


def test_the_first_page_is_a_frame_that_shrinks():
    document = make_document(order("yearly", many_results(3), many_layout(3)))
    first = pdf_document._first_page(document, document.sections[0])
    assert isinstance(first[-1], KeepInFrame)


@pytest.mark.parametrize("kind", KINDS)
def test_changed_limits_of_the_condition_checks_are_printed(tmp_path, kind):
    usual = order(kind, many_results(3), many_layout(3))
    heading = "Limits of the condition checks that were changed"
    assert heading not in pdf_text(written(usual, tmp_path / "usual.pdf"))
    limits = ConditionThresholds(
        irradiance_for_power=650.0, irradiance_drift=0.035, wind_speed=None, temperature_lowest=-45
    )
    made = replace(usual, settings=ChosenSettings(AnalysisInputs(thresholds=limits)))
    flat = " ".join(pdf_text(written(made, tmp_path / "r.pdf")).split()).replace(" %", "%")
    assert heading in flat
    for row in (
        "Irradiance for a statement on power 700 W/m² 650 W/m²",
        "Drift of irradiance during a sweep 2% 3.5%",
        "Wind 8 m/s off",
        "Lowest believable temperature −40 °C −45 °C",
    ):
        assert row in flat
    assert flat.index("Condition checks that failed") < flat.index(heading)
    assert "Highest believable" not in flat[flat.index(heading) :]
    book = openpyxl.load_workbook(written(made, tmp_path / "r.xlsx"))
    cells = {cell.value for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "650 W/m²" in cells


def test_each_input_has_its_name_and_the_unit_of_its_uncertainty():
    document = make_document(order("yearly", many_results(1), many_layout(1)))
    (table,) = [one for one in document.tables() if one.name == "Uncertainty of the inputs"]
    told_of = {row[0]: row[1] for row in table.rows}
    assert told_of["Irradiance sensor"] == "1.25 %"
    assert told_of["Temperature sensor"] == "1 K"
    assert told_of["Cell temperature from air and wind"] == "2.5 K"
    assert told_of["Cell temperature from Voc"] == "2 K"
    assert not any("_" in cell for row in table.rows for cell in row)


@pytest.mark.parametrize("kind", KINDS)
def test_names_of_strings_are_whole_in_tables(tmp_path, kind):
    """'INV1-DC05-S1' stood over '8', in every row of the table that a claim rests upon."""
    results = tuple(
        replace(
            one,
            trace=replace(
                one.trace, combiner="INV1-DC05", string=f"INV1-DC05-{one.trace.string}-X88"
            ),
        )
        for one in many_results(3)
    )
    layout = many_layout(3)
    strings = tuple(
        replace(one, name=f"INV1-DC05-{one.name}-X88") for one in layout.combiners[0].strings
    )
    box = replace(layout.combiners[0], name="INV1-DC05", strings=strings)
    made = order(kind, results, replace(layout, combiners=(box,)))
    words = pdf_text(written(made, tmp_path / "r.pdf")).split()
    named = [word.strip(",.:") for word in words if word.startswith("INV1-DC05-")]
    assert named
    assert {word for word in named if not word.endswith("-X88")} == set()


def test_no_page_is_left_with_nothing_on_it(tmp_path, monkeypatch):
    """The room under a section's last lines made a page of its own where its page was full."""
    stories = []

    def kept(file, title, foot, story, **rest):
        stories.append(story)
        return True

    monkeypatch.setattr(pdf_document, "write_pdf", kept)
    document = make_document(order("yearly", many_results(2), many_layout(2)))
    list(pdf_document.write_document(document, tmp_path / "r.pdf"))
    (story,) = stories
    assert not isinstance(story[-1], Spacer)
    breaks = [place for place, one in enumerate(story) if isinstance(one, PageBreak)]
    assert len(breaks) > 3
    assert not [place for place in breaks if isinstance(story[place - 1], Spacer)]


@pytest.mark.parametrize("kind", KINDS)
def test_where_a_check_is_proposed_stands_who_may_do_it(tmp_path, kind):
    """The cautions stood on the last page, the checks they are about on the first."""
    path = written(order(kind, many_results(2), many_layout(2)), tmp_path / "r.pdf")
    proposing = [" ".join(page.split()) for page in pages(path) if "Clean and retest." in page]
    assert proposing
    assert all("qualified for energised DC work, after the local code" in p for p in proposing)
