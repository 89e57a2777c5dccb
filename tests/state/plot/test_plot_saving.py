from pathlib import Path

from matplotlib.image import imread

from tests.invented_results import invented_result, invented_visits
from viewer.reports.annotation import Annotation, PlacedAnnotation
from viewer.state.plot.plot_saving import figure_caption, file_name, save_all_plots

RESULTS = invented_visits()[:4]


def saved(folder: Path, suffix: str, dpi: int = 60, marks=()) -> list[Path]:
    for _ in save_all_plots(RESULTS, marks, "measured", ("iv", "pv"), folder, suffix, dpi):
        pass
    return sorted(folder.iterdir())


def test_every_string_gets_a_file_named_after_it(tmp_path):
    names = [path.name for path in saved(tmp_path, ".png")]
    assert names == [f"C1_S{n}_2024-06-03.png" for n in (1, 2, 3, 4)]


def test_the_dots_per_inch_are_those_asked_for(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    low = imread(saved(tmp_path / "a", ".png", 50)[0]).shape
    high = imread(saved(tmp_path / "b", ".png", 100)[0]).shape
    assert (high[0], high[1]) == (2 * low[0], 2 * low[1])


def test_marks_and_caption_are_words_in_the_drawing(tmp_path):
    mark = Annotation("bracket", "iv", "measured", ((100.0, 3.0), (142.5, 3.0)))
    marks = (PlacedAnnotation(1, RESULTS[0].trace.source, mark),)
    first, second, *_ = saved(tmp_path, ".svg", marks=marks)
    said = first.read_text(encoding="utf-8")
    for words in ("42.5 V", "968 W/m²", "cells at 50.0 °C", "C1 S1, 2024-06-03", "predicted"):
        assert words in said
    assert "42.5 V" not in second.read_text(encoding="utf-8")


def test_a_pdf_is_lines_not_a_picture_and_the_same_every_time(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one, other = saved(tmp_path / "a", ".pdf")[0], saved(tmp_path / "b", ".pdf")[0]
    assert one.read_bytes().startswith(b"%PDF")
    assert b"/Subtype /Image" not in one.read_bytes()
    assert one.read_bytes() == other.read_bytes()


def test_names_that_no_system_takes_are_mended_and_kept_apart():
    bad = invented_result("../C:1", 'S"*?/1')
    taken: set[str] = set()
    first, second = file_name(bad, taken), file_name(bad, taken)
    assert first != second
    for name in (first, second):
        assert not set(name) & set('/\\:*?"<>|')
        assert not name.startswith(".")


def test_a_caption_of_many_names_the_first_and_counts_the_rest():
    said = figure_caption(RESULTS)
    assert said.startswith("C1 S1, 2024-06-03 11:01, 968 W/m²")
    assert said.endswith("And 1 more.")
