"""The findings pane: what the current curve's shape shows, what may lie behind it, what next."""

from html import escape

from PySide6.QtWidgets import QFrame, QTextBrowser, QVBoxLayout, QWidget

from viewer.analysis.trace_result import CandidateCause, TraceResult
from viewer.reports.curve_figure import trace_label
from viewer.state.session import Session
from viewer.widgets.binding import follow
from viewer.widgets.theme import MEDIUM, SMALL, Look, Theme
from viewer.widgets.trace_description import heading


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
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addWidget(self.words)
        for notifier in (
            session.selection.changed,
            session.opened,
            session.arrived,
            look.theme.changed,
        ):
            follow(self, notifier, self.show_current)
        self.show_current()

    def show_current(self, *_: object) -> None:
        result = self._session.current
        theme = self._look.theme.value
        text = "No string is selected." if result is None else findings_html(result, theme)
        if text != self._shown:
            self._shown = text
            self.words.setHtml(text)


def findings_html(result: TraceResult, theme: Theme) -> str:
    """Signatures, then candidate causes from the likeliest on, as HTML."""
    parts = [f"<div><b>{escape(trace_label(result, with_day=True))}</b></div>"]
    parts.append(heading("What the curve shows", theme))
    if result.signatures:
        parts += [f"<div>• {escape(one.text)}</div>" for one in result.signatures]
    elif result.predicted is None:
        parts.append(f"<div>{escape(' '.join(result.missing) or 'There is no prediction.')}</div>")
    else:
        parts.append("<div>Nothing beyond the uncertainty of the measurement.</div>")
    causes = [one for one in result.candidate_causes if one.cause != "none"]
    if causes:
        parts.append(heading("What may lie behind it, the likeliest first", theme))
        parts += [_cause_html(one, theme) for one in causes]
    return "".join(parts)


def _cause_html(cause: CandidateCause, theme: Theme) -> str:
    name = cause.cause.replace("_", " ").capitalize()
    lines = [
        f'<div style="margin-top:4px"><b>{escape(name)}</b>, likelihood '
        f"{100 * cause.likelihood:.0f} %</div>"
    ]
    for title, words in (
        ("For it", cause.evidence),
        ("Against it", cause.against),
        ("Next check", cause.next_check),
    ):
        if words:
            lines.append(
                f'<div style="margin-left:12px"><span style="color:{theme.subtle}">{title}:</span>'
                f" {escape(words)}</div>"
            )
    return "".join(lines)
