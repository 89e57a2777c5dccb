"""The plot onto the clipboard and into files, as it is printed and with what was drawn on it."""

from pathlib import Path

from PySide6.QtGui import QGuiApplication

from viewer.app.window.plot_actions import PlotActions
from viewer.reports.annotation import Annotation
from viewer.state.program.jobs import Job, Outcome, drive
from viewer.state.program.settings import Settings


def act(window, name: str) -> None:
    window.actions_by_id.qt[name].trigger()


def test_the_plot_is_copied_with_marks_caption_and_chosen_dpi(window, session, tmp_path):
    session.settings.value = Settings(theme="light", plot_dpi=60)
    session.marks.open(tmp_path)
    mark = Annotation("text", "iv", "measured", ((100.0, 3.0),), "burnt connector")
    session.marks.add(session.selection.current, mark)
    act(window, "copy_plot")
    held = QGuiApplication.clipboard().mimeData()
    picture = held.imageData()
    assert (picture.width(), picture.height()) == (540, 450)
    drawing = bytes(held.data("image/svg+xml").data()).decode()
    assert "burnt connector" in drawing
    assert "968 W/m²" in held.text()
    assert "60 dpi" in session.message.value


def test_every_selected_string_gets_a_plot(window, session, tmp_path):
    ids = [row.trace_id for row in session.rows][:3]
    session.selection.choose(ids)
    PlotActions(window, window.plot.figure).save_all(session, tmp_path, ".svg")
    assert len(list(tmp_path.glob("*.svg"))) == 3
    assert session.message.value == f"3 plots saved in {tmp_path}."


def test_a_folder_that_cannot_be_written_to_is_said(window, session, tmp_path):
    PlotActions(window, window.plot.figure).save_all(session, tmp_path / "gone", ".png")
    assert "could not be written: there is no folder" in session.message.value


def test_cancelled_in_between_what_was_written_stays(window, session, tmp_path):
    ids = [row.trace_id for row in session.rows][:4]
    session.selection.choose(ids)

    def two_steps(job: Job) -> None:
        steps = iter(job.steps())
        next(steps)
        next(steps)
        steps.close()
        job.end(Outcome("cancelled", "cancelled."))

    session.jobs.runner = two_steps
    PlotActions(window, window.plot.figure).save_all(session, tmp_path, ".svg")
    assert len(list(tmp_path.glob("*.svg"))) == 2


def test_the_exported_plot_carries_what_was_drawn(window, session, tmp_path, monkeypatch):
    session.marks.open(tmp_path)
    mark = Annotation("callout", "iv", "measured", ((0.0, 0.0), (300.0, 4.0)), "step", 50)
    session.marks.add(session.selection.current, mark)
    path = tmp_path / "one.svg"
    monkeypatch.setattr(
        "viewer.app.window.window_actions.QFileDialog.getSaveFileName",
        lambda *_: (str(path), "SVG drawing (*.svg)"),
    )
    act(window, "export")
    said = Path(path).read_text(encoding="utf-8")
    assert "step" in said
    assert "cells at 50.0 °C" in said


def test_the_window_does_not_wait_for_the_plot_to_be_drawn(window, session):
    waiting: list[Job] = []
    session.jobs.runner = waiting.append
    QGuiApplication.clipboard().setText("before")
    act(window, "copy_plot")
    assert QGuiApplication.clipboard().text() == "before"
    job = waiting[0]
    job.end(drive(job, job.receive))
    assert QGuiApplication.clipboard().mimeData().hasImage()
    assert "on the clipboard" in session.message.value
