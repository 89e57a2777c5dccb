"""Pages of a report are drawn as they are wanted and kept only while they are."""

import io

import pytest
from reportlab.pdfgen.canvas import Canvas

from viewer.reports.pdf_pictures import PdfPictures, pdf_pictures
from viewer.state.program.jobs import Job, Jobs, Outcome, drive
from viewer.state.reporting.report_pages import ReportPages


def made(pages: int) -> PdfPictures:
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(100, 100))
    for number in range(pages):
        canvas.drawString(10, 50, f"page {number + 1}")
        canvas.showPage()
    canvas.save()
    return pdf_pictures(file.getvalue())


@pytest.fixture
def jobs() -> Jobs:
    return Jobs()


@pytest.fixture
def pages(jobs: Jobs) -> ReportPages:
    shown = ReportPages(jobs)
    shown.show(made(50))
    return shown


def test_only_what_is_wanted_is_kept_however_far_one_goes(pages):
    for first in range(0, 46):
        pages.want(range(first, first + 4), 1.0)
        assert set(pages.kept) == set(range(first, first + 4))


def test_another_size_is_drawn_anew_and_the_same_is_not(pages, jobs):
    pages.want([3], 1.0)
    first = pages.picture(3)
    pages.want([3], 1.0)
    assert pages.picture(3) is first
    pages.want([3], 2.0)
    assert pages.picture(3).width == 2 * first.width == 200


def test_what_is_wanted_while_the_job_draws_comes_next(pages, jobs):
    started: list[Job] = []
    jobs.runner = started.append
    pages.want([0, 1, 2], 1.0)
    steps = started[0].steps()
    taken = [next(steps)]
    pages.want([40], 1.0)
    taken += list(steps)
    assert [one.payload.place for one in taken] == [0, 40]
    started[0].receive(taken)
    assert pages.kept == (40,)
    started[0].end(Outcome("done"))
    assert len(started) == 1


def test_what_is_asked_for_at_the_very_end_is_drawn_by_another_job(pages, jobs):
    started: list[Job] = []
    jobs.runner = started.append
    pages.want([0], 1.0)
    outcome = drive(started[0], started[0].receive)
    pages.want([9], 1.0)
    started[0].end(outcome)
    assert len(started) == 2
    drive(started[1], started[1].receive)
    assert pages.kept == (9,)


def test_a_cancelled_job_is_not_begun_again_by_itself(pages, jobs):
    started: list[Job] = []
    jobs.runner = started.append
    pages.want([0], 1.0)
    started[0].cancel()
    started[0].end(drive(started[0], started[0].receive))
    assert len(started) == 1
    pages.want([0], 1.0)
    assert len(started) == 2


def test_pages_of_the_document_before_never_show(pages, jobs):
    started: list[Job] = []
    jobs.runner = started.append
    pages.want([0], 1.0)
    late = list(started[0].steps())
    pages.show(made(2))
    pages.want([1], 1.0)
    started[0].receive(late)
    started[0].end(Outcome("cancelled"))
    assert pages.picture(0) is None
    started[1].end(drive(started[1], started[1].receive))
    assert pages.kept == (1,)


def test_nothing_open_nothing_drawn(jobs):
    empty = ReportPages(jobs)
    empty.want([0], 1.0)
    assert empty.kept == ()
