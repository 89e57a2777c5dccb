"""The status line's right end: what is being worked on, how far, and a button to cancel it."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QWidget

from viewer.state.program.jobs import Job, Progress
from viewer.state.session import Session
from viewer.widgets.controls.binding import FollowedInTurn, follow
from viewer.widgets.controls.icons import icon
from viewer.widgets.controls.patient_bar import PatientBar
from viewer.widgets.controls.theme import SMALL, Look


class WorkStrip(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._job: Job | None = None
        self._progress = FollowedInTurn(self, self._show)
        self.words = QLabel(self)
        self.bar = PatientBar(self)
        self.bar.setFixedWidth(160)
        self.bar.setTextVisible(True)
        self.bar.setAccessibleName("Progress of the work under way")
        self.cancel = QToolButton(self)
        self.cancel.setAutoRaise(True)
        self.cancel.setToolTip("Cancel; what has arrived stays")
        self.cancel.setAccessibleName("Cancel the work under way")
        self.cancel.clicked.connect(session.jobs.cancel_all)
        row = QHBoxLayout(self)
        row.setContentsMargins(SMALL, 0, SMALL, 0)
        row.setSpacing(SMALL)
        for widget in (self.words, self.bar, self.cancel):
            row.addWidget(widget)
        follow(self, session.jobs.changed, self._jobs_changed)
        follow(self, look.theme.changed, self._dress)
        self._dress()
        self._jobs_changed()

    def _dress(self, *_: object) -> None:
        self.cancel.setIcon(icon("cancel", self._look.theme.value.text))

    def _jobs_changed(self) -> None:
        job = self._session.jobs.current
        self.setVisible(job is not None)
        if job is not None and job is not self._job:
            self._progress.turn_to(job.progress.changed)
            self.words.setText(job.title)
            self._show(job.progress.value)
        self._job = job
        self.cancel.setEnabled(job is not None and not job.cancelled)
        if job is not None and job.cancelled:
            self.words.setText(f"{job.title}: stopping")

    def _show(self, progress: Progress) -> None:
        done, total = progress.done, progress.total
        self.bar.show_progress(done, total, f"{progress.text} {done} of {total}".strip())
