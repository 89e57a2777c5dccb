"""Marks drawn, moved, worded, deleted and undone with mouse and keys on the plot."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt

from tests.invented_results import InventedOpener, invented_visits
from viewer.reports.annotation import Annotation
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.widgets.plot.curve_plot import CurvePlot


@pytest.fixture
def session(tmp_path: Path) -> Session:
    """Two invented visits kept at a folder that exists."""
    opened = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    opened.open(tmp_path)
    opened.selection.choose([invented_visits()[0].trace.source])
    return opened


@pytest.fixture
def plot(shown, session, look):
    made = shown(CurvePlot(session, look), 900, 700)
    made.mark_button.setChecked(True)
    return made


def place(plot: CurvePlot, panel: str, x: float, y: float) -> QPoint:
    """Where a point of a panel lies on the canvas."""
    scene = plot.canvas.panels[panel].plot.vb.mapViewToScene(QPointF(x, y))
    return plot.canvas.mapFromScene(scene)


def drag(qtbot, plot: CurvePlot, begin: QPoint, end: QPoint) -> None:
    port = plot.canvas.viewport()
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=begin)
    qtbot.mouseMove(port, (begin + end) / 2)
    qtbot.mouseMove(port, end)
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=end)


def draw(qtbot, plot: CurvePlot, kind: str, panel: str, begin, end) -> Annotation:
    plot.mark_row.tools[kind].click()
    drag(qtbot, plot, place(plot, panel, *begin), place(plot, panel, *end))
    return plot._session.marks.all[-1].mark


@pytest.mark.parametrize("kind", ["text", "arrow", "bracket", "region"])
def test_a_mark_lies_where_it_was_drawn(qtbot, plot, kind):
    mark = draw(qtbot, plot, kind, "iv", (200.0, 3.0), (400.0, 5.0))
    assert (mark.kind, mark.panel, mark.form, mark.text) == (kind, "iv", "measured", "")
    assert mark.points[0] == pytest.approx((200.0, 3.0), abs=3)
    if len(mark.points) == 2:
        assert mark.points[1][0] == pytest.approx(400.0, abs=3)
    assert not plot.mark_row.tools[kind].isChecked()


def test_a_click_with_a_tool_makes_a_mark_of_a_useful_size(qtbot, plot):
    mark = draw(qtbot, plot, "arrow", "iv", (200.0, 3.0), (200.0, 3.0))
    assert mark.points[0] != mark.points[1]


def test_a_callout_is_tied_to_the_nearest_measured_point_and_stays_on_it(qtbot, plot):
    mark = draw(qtbot, plot, "callout", "pv", (400.0, 3000.0), (200.0, 5000.0))
    series = next(one for one in plot.canvas.figure.panels[1].series if one.role == "measured")
    assert mark.point is not None
    assert mark.points[0] == (series.x[mark.point], series.y[mark.point])
    before = place(plot, "pv", *mark.points[0])
    plot.canvas.panels["pv"].plot.vb.setXRange(300, 600, padding=0)
    assert place(plot, "pv", *mark.points[0]) != before
    (shown,) = plot.layer._items["pv"]._marks
    assert shown.points[0] == (series.x[mark.point], series.y[mark.point])


def test_words_go_to_the_mark_just_placed(qtbot, plot):
    draw(qtbot, plot, "text", "iv", (200.0, 3.0), (200.0, 3.0))
    qtbot.keyClicks(plot.mark_row.words, "hot cell")
    qtbot.keyClick(plot.mark_row.words, Qt.Key.Key_Return)
    assert plot._session.marks.all[0].mark.text == "hot cell"


def test_a_mark_is_moved_by_its_end_or_as_a_whole(qtbot, plot):
    draw(qtbot, plot, "arrow", "iv", (200.0, 3.0), (400.0, 5.0))
    drag(qtbot, plot, place(plot, "iv", 400.0, 5.0), place(plot, "iv", 500.0, 5.0))
    mark = plot._session.marks.all[0].mark
    assert mark.points[0] == pytest.approx((200.0, 3.0), abs=3)
    assert mark.points[1][0] == pytest.approx(500.0, abs=5)
    middle = place(plot, "iv", 350.0, 4.0)
    drag(qtbot, plot, middle, place(plot, "iv", 400.0, 4.0))
    mark = plot._session.marks.all[0].mark
    assert mark.points[0][0] == pytest.approx(250.0, abs=6)
    assert mark.points[1][0] == pytest.approx(550.0, abs=6)


def test_delete_undo_and_redo_by_keys(qtbot, plot):
    draw(qtbot, plot, "region", "iv", (200.0, 3.0), (400.0, 5.0))
    plot.canvas.setFocus()
    qtbot.keyClick(plot.canvas, Qt.Key.Key_Delete)
    assert plot._session.marks.all == ()
    qtbot.keyClick(plot.canvas, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert len(plot._session.marks.all) == 1
    plot.mark_row.undo.click()
    assert plot._session.marks.all == ()
    plot.mark_row.redo.click()
    assert len(plot._session.marks.all) == 1


def test_escape_lets_go_of_the_tool_and_of_the_mark(qtbot, plot):
    marks = plot._session.marks
    draw(qtbot, plot, "region", "iv", (200.0, 3.0), (400.0, 5.0))
    plot.mark_row.tools["arrow"].click()
    assert marks.tool.value == "arrow"
    qtbot.keyClick(plot.canvas, Qt.Key.Key_Escape)
    assert marks.tool.value is None
    assert marks.chosen.value is None


def test_marks_are_seen_but_not_touched_while_their_row_is_closed(qtbot, plot):
    draw(qtbot, plot, "arrow", "iv", (200.0, 3.0), (400.0, 5.0))
    before = plot._session.marks.all
    plot.mark_button.setChecked(False)
    drag(qtbot, plot, place(plot, "iv", 400.0, 5.0), place(plot, "iv", 300.0, 4.0))
    assert plot._session.marks.all == before
    assert len(plot.layer._items["iv"]._marks) == 1


def test_marks_belong_to_their_trace_form_and_panel(qtbot, plot, session):
    draw(qtbot, plot, "arrow", "iv", (200.0, 3.0), (400.0, 5.0))
    assert len(plot.layer.shown()) == 1
    session.choices.form.value = "stc"
    assert plot.layer.shown() == ()
    session.choices.form.value = "measured"
    session.choices.panels.value = ("pv",)
    assert plot.layer.shown() == ()
    session.choices.panels.value = ("iv", "pv")
    session.selection.choose([invented_visits()[1].trace.source])
    assert plot.layer.shown() == ()


def test_every_kind_is_painted_in_both_themes(qtbot, plot, session):
    trace = session.selection.current
    plain = plot.canvas.grab().toImage()
    for number, kind in enumerate(("text", "arrow", "bracket", "region", "callout")):
        count = 1 if kind == "text" else 2
        points = ((100.0 + 100 * number, 2.0), (160.0 + 100 * number, 4.0))[:count]
        session.marks.add(trace, Annotation(kind, "iv", "measured", points, f"words {number}"))
        marked = plot.canvas.grab().toImage()
        assert marked != plain
        plain = marked


def test_the_wheel_and_plain_drags_still_reach_the_plot(qtbot, plot):
    view = plot.canvas.panels["iv"].plot.vb
    before = view.viewRange()
    drag(qtbot, plot, place(plot, "iv", 300.0, 6.0), place(plot, "iv", 400.0, 6.0))
    assert view.viewRange() != before
