"""The findings pane: what the current curve's shape shows, what may lie behind it, what next."""

from collections.abc import Sequence
from html import escape
from pathlib import Path

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.causes.cause_words import cause_name
from viewer.analysis.results.trace_result import CandidateCause, TraceResult
from viewer.physics.nomenclature import with_minus
from viewer.site_data.text_catalogue import texts
from viewer.state.plot.highlight import highlights_of, highlights_of_cause
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look, Theme
from viewer.widgets.importing.dropped_paths import local_paths, pictures_among
from viewer.widgets.strings.picture_row import PictureRow
from viewer.widgets.strings.settle_row import SettleRow
from viewer.widgets.strings.trace_description import heading

LEAST_TOLD = 0.0005
"""A difference of power smaller than that share would be printed as none."""


class FindingsPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._shown = ""
        self.words = QTextBrowser(self)
        self.words.setFrameShape(QFrame.Shape.NoFrame)
        self.words.setOpenLinks(False)
        self.words.setAccessibleName("Findings on the current string")
        self.settle = SettleRow(session, self)
        self.picture_row = PictureRow(session, self)
        self._lay_out()
        self.setAcceptDrops(True)
        for line in self.findChildren(QLineEdit):
            line.setAcceptDrops(False)  # a picture dropped on one would be typed in as its path
        self.words.anchorClicked.connect(self.show_on_curve)
        for notifier in (
            session.selection.changed,
            session.opened,
            session.arrived,
            look.theme.changed,
        ):
            follow(self, notifier, self.show_current)
        self.show_current()

    def _lay_out(self) -> None:
        column = QVBoxLayout()
        column.setSpacing(SMALL)
        column.addWidget(self.words, 1)
        self.settle.add_button(self.picture_row.attach)
        column.addWidget(self.settle)
        column.addWidget(self.picture_row)
        halves = QHBoxLayout(self)
        halves.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        halves.setSpacing(MEDIUM)
        halves.addLayout(column, 1)
        halves.addWidget(self.picture_row.thumbs)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Pictures are taken here; anything else is left to the window."""
        if pictures_among(local_paths(event.mimeData())):
            event.acceptProposedAction()
        else:
            event.ignore()

    def dropEvent(self, event: QDropEvent) -> None:
        files = pictures_among(local_paths(event.mimeData()))
        if files:
            event.acceptProposedAction()
            self.attach(files)

    def attach(self, files: Sequence[Path]) -> None:
        """Keep pictures with the current string."""
        self.picture_row.attach_files(files)

    def show_current(self, *_: object) -> None:
        result = self._session.current
        theme = self._look.theme.value
        text = "No string is selected."
        if result is not None:
            text = findings_html(result, self._session.label_of(result), theme)
        if text != self._shown:
            self._shown = text
            self.words.setHtml(text)
        highlights = self._session.choices.highlights
        if highlights.value[0] != self._session.selection.current:
            highlights.value = (None, ())

    def show_on_curve(self, link: QUrl) -> None:
        """Highlight what a signature or cause is about; the same link again takes it away."""
        result = self._session.current
        if result is None:
            return
        kind, _, place = link.toString().partition("-")
        if kind == "signature":
            found = highlights_of(result, [result.signatures[int(place)]])
        else:
            found = highlights_of_cause(result, result.candidate_causes[int(place)])
        wanted = (result.trace.source, found)
        highlights = self._session.choices.highlights
        highlights.value = (None, ()) if highlights.value == wanted else wanted
        if not found:
            self._session.message.value = "Nothing on this curve alone speaks for that."
        elif self._session.choices.form.value != "measured":
            self._session.choices.form.value = "measured"


def findings_html(result: TraceResult, name: str, theme: Theme) -> str:
    """Signatures, then candidate causes in their order, as HTML, under the trace's name."""
    shows = f'<span style="color:{theme.subtle}">What the curve shows</span>'
    parts = [f"<div><b>{escape(name)}. {shows}</b></div>"]
    if result.signatures:
        parts += [
            f"<div>• {_link(f'signature-{place}', with_minus(one.text), theme)}</div>"
            for place, one in enumerate(result.signatures)
        ]
    elif result.predicted is not None and (result.candidate_causes or not result.missing):
        parts.append(f"<div>{_without_signature(result)}</div>")
    elif not result.missing:
        parts.append("<div>There is no prediction.</div>")
    if result.missing:
        parts.append(f"<div>{escape(with_minus(' '.join(result.missing)))}</div>")
    causes = [
        (place, one) for place, one in enumerate(result.candidate_causes) if one.cause != "none"
    ]
    if causes:
        parts.append(
            heading("What may lie behind it, of the likely causes the costliest first", theme)
        )
        listed = " ".join(one.text for one in result.signatures)
        parts += [_cause_html(one, place, listed, theme) for place, one in causes]
        caution = escape(texts()["trace"]["caution"])
        parts.append(f'<div style="margin-top:6px;color:{theme.subtle}">{caution}</div>')
    return "".join(parts)


def _without_signature(result: TraceResult) -> str:
    """The list may call such a string short or to watch: its power is told beside its shape."""
    shape = "Nothing in the curve's shape beyond the uncertainty of the measurement."
    ratio, extra = result.power_ratio, result.power_ratio_uncertainty
    if ratio is None or extra is None or abs(1 - ratio) < LEAST_TOLD:
        return shape
    side = "below" if ratio < 1 else "above"
    bound = "more than" if abs(1 - ratio) > extra else "within"
    return (
        f"{shape} Its power is {100 * abs(1 - ratio):.1f} % {side} the prediction, {bound} its "
        f"uncertainty of ± {100 * extra:.1f} % (k = 2)."
    )


def _link(target: str, words: str, theme: Theme) -> str:
    """Words that show on the curve what they are about."""
    return f'<a href="{target}" style="color:{theme.text}">{escape(words)}</a>'


def _cause_html(cause: CandidateCause, place: int, listed: str, theme: Theme) -> str:
    """`listed`: all that the curve shows, which is not said a second time."""
    name = cause_name(cause.cause).capitalize()
    by_all = bool(listed) and cause.evidence == listed
    lines = [
        f'<div style="margin-top:2px"><b>{_link(f"cause-{place}", name, theme)}</b>, likelihood '
        f"{100 * cause.likelihood:.0f} %{', by what is listed above' if by_all else ''}</div>"
    ]
    for title, words in (
        ("For it", "" if by_all else cause.evidence),
        ("Against it", cause.against),
        ("Next check", cause.next_check),
    ):
        if words:
            lines.append(
                f'<div style="margin-left:12px"><span style="color:{theme.subtle}">{title}:</span>'
                f" {escape(with_minus(words))}</div>"
            )
    return "".join(lines)
