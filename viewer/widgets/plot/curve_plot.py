"""The curve pane: selected strings overlaid on their prediction, with legend and readout."""

from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QResizeEvent
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from viewer.reports.curve_figure import FORMS, CurveFigure, curve_figure
from viewer.state.plot.style_slots import StyleSlots, named_first
from viewer.state.session import Arrival, Session
from viewer.state.strings.key_point_lines import spoken_numbers
from viewer.widgets.controls.binding import ChoiceTie, fill_choices, follow
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look
from viewer.widgets.plot.annotation_layer import AnnotationLayer
from viewer.widgets.plot.band_layer import BandLayer
from viewer.widgets.plot.crosshair import Crosshair, Reading
from viewer.widgets.plot.curve_canvas import CurveCanvas
from viewer.widgets.plot.curve_legend import CurveLegend
from viewer.widgets.plot.highlight_layer import HighlightLayer
from viewer.widgets.plot.keyboard_cursor import KeyboardCursor
from viewer.widgets.plot.mark_row import MarkRow
from viewer.widgets.plot.point_readout import PointReadout, spoken_reading

PANEL_BUTTONS: tuple[tuple[str, str, str], ...] = (
    ("iv", "I-V", "Current over voltage"),
    ("pv", "P-V", "Power (voltage times current) over voltage"),
    ("difference", "ΔI", "Measured minus predicted current over voltage"),
)


class CurvePlot(QWidget):
    """Draws what the session's selection and choices ask for."""

    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        self._slots = StyleSlots()
        self.canvas = CurveCanvas(self)
        self.legend = CurveLegend(self)
        self.crosshair = Crosshair(self.canvas)
        self.key_cursor = KeyboardCursor(self.canvas, self.crosshair, session)
        self.band = BandLayer(self.canvas, session, look)
        self.highlights = HighlightLayer(self.canvas, session, look)
        self.layer = AnnotationLayer(self.canvas, session)
        self.mark_row = MarkRow(session, self)
        self.readout = PointReadout(self)
        self.left_out = QLabel(self)
        self._buttons: dict[str, QToolButton] = {}
        self._lay_out()
        self.band.drawn.connect(self.legend.show_band)
        self.crosshair.read.connect(self._show_reading)
        self.crosshair.picked.connect(self._pick)
        self.key_cursor.stepped.connect(self._say_point)
        self.key_cursor.left.connect(self._describe)
        choices = session.choices
        for notifier, method in (
            (session.selection.changed, self.draw),
            (choices.visit.changed, self.draw),
            (session.opened, self.draw),
            (session.arrived, self._more_arrived),
            (choices.form.changed, self._draw_whole),
            (choices.panels.changed, self._draw_whole),
            (session.settings.changed, self.draw),
            (look.theme.changed, self._dress),
        ):
            follow(self, notifier, method)
        self._dress()

    def _lay_out(self) -> None:
        form = QComboBox(self)
        form.setAccessibleName("Form of the curves")
        form.setToolTip(
            "As measured; translated to 1000 W/m² and 25 °C by IEC 60891; or in parts of the "
            "predicted Voc and Isc"
        )
        self.canvas.setAccessibleName("Curves")
        self.setFocusProxy(self.canvas)
        fill_choices(form, [(text, key) for key, text in FORMS.items()], None)
        self._form_tie = ChoiceTie(form, self._session.choices.form)
        bar = QHBoxLayout()
        bar.setSpacing(SMALL)
        bar.addWidget(form)
        for name, text, tip in PANEL_BUTTONS:
            bar.addWidget(self._panel_button(name, text, tip))
        fit = QToolButton(self)
        fit.setText("Whole")
        fit.setToolTip("Show all curves whole again (the wheel zooms, dragging moves)")
        fit.clicked.connect(self.canvas.fit)
        bar.addWidget(fit)
        bar.addWidget(self._mark_button())
        self._bar, self._head = bar, QGridLayout()
        self._head.setSpacing(SMALL)
        self._head.setColumnStretch(1, 1)
        self._head.addLayout(bar, 0, 0)
        self._place_readout()
        self.left_out.setWordWrap(True)
        self.left_out.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.setSpacing(SMALL)
        column.addLayout(self._head)
        column.addWidget(self.mark_row)
        column.addWidget(self.legend)
        column.addWidget(self.canvas, 1)
        column.addWidget(self.left_out)
        self.setMinimumSize(360, 250)

    def _place_readout(self) -> None:
        """Beside the buttons where a usual reading has room there, else in a row of its own."""
        whole = self.width() - 2 * MEDIUM
        beside = whole - self._bar.sizeHint().width() - self._head.spacing()
        below = beside < self.readout.usual_width()
        self.readout.take_place(below, whole)
        self._head.removeWidget(self.readout)
        self._head.addWidget(self.readout, *((1, 0, 1, 2) if below else (0, 1)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        if event.size().width() != event.oldSize().width():
            self._place_readout()
        super().resizeEvent(event)

    def _panel_button(self, name: str, text: str, tip: str) -> QToolButton:
        button = QToolButton(self)
        button.setText(text)
        button.setToolTip(tip)
        button.setCheckable(True)
        button.setChecked(name in self._session.choices.panels.value)
        button.clicked.connect(self._panels_chosen)
        self._buttons[name] = button
        return button

    def _mark_button(self) -> QToolButton:
        """Shows the row of tools for marks, and lets marks be touched while it is there."""
        button = QToolButton(self)
        button.setText("Marks")
        button.setToolTip(
            "Arrows, words, spans of volts and callouts for a claim, kept with the trace"
        )
        button.setCheckable(True)
        button.toggled.connect(self.mark_row.setVisible)
        button.toggled.connect(self.layer.set_active)
        self.layer.wants_text.connect(self.mark_row.ask_for_words)
        self.mark_row.hide()
        self.mark_button = button
        return button

    def _panels_chosen(self) -> None:
        chosen = tuple(name for name, button in self._buttons.items() if button.isChecked())
        if chosen:
            self._session.choices.panels.value = chosen
        else:
            self._show_panels()

    def _show_panels(self) -> None:
        for name, button in self._buttons.items():
            button.setChecked(name in self._session.choices.panels.value)

    def figure(self) -> CurveFigure:
        """What the session asks to be drawn now."""
        session = self._session
        results = session.shown_results()
        current = session.selection.current
        count = session.settings.value.styled_curves
        ids = named_first(results, session.selection.pinned)
        styles = self._slots.assign(ids, count, current)
        choices = session.choices
        form, panels = choices.form.value, choices.panels.value
        return curve_figure(results, styles, form, panels, current, session.tells_days(ids))

    def draw(self, *_: object) -> None:
        self._render(fit=False)

    def _draw_whole(self, *_: object) -> None:
        self._show_panels()
        self._render(fit=True)

    def _render(self, fit: bool) -> None:
        figure = self.figure()
        self.canvas.show_figure(figure, fit)
        self.legend.show_figure(figure, self._session.selection.pinned)
        self._describe()
        self.left_out.setText("\n".join(figure.left_out[:3]))
        self.left_out.setVisible(bool(figure.left_out))
        self._show_reading(None)
        self.key_cursor.show_again()

    def _describe(self) -> None:
        """What a screen reader says of the curves while no point of them is pointed at."""
        said = (spoken_numbers(self._session.current), self.legend.accessibleDescription())
        self.canvas.setAccessibleDescription(". ".join(one for one in said if one))

    def _say_point(self, reading: Reading, number: int, count: int) -> None:
        """The point that the keyboard's cursor stands on, shown and spoken."""
        relative = self._session.choices.form.value == "relative"
        said = f"{spoken_reading(reading, relative)}; point {number} of {count}"
        if said == self.canvas.accessibleDescription():
            return
        self.canvas.setAccessibleDescription(said)
        if QAccessible.isActive():
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self.canvas, said))

    def _more_arrived(self, arrival: Arrival) -> None:
        ids = set(self._session.selection.shown)
        if not arrival.results or any(one.trace.source in ids for one in arrival.results):
            self.draw()

    def _dress(self, *_: object) -> None:
        theme = self._look.theme.value
        self.legend.set_theme(theme)
        self.canvas.set_theme(theme)
        self.draw()

    def _pick(self, trace_id: str) -> None:
        selection = self._session.selection
        if trace_id in selection.ids:
            selection.choose(selection.ids, trace_id)

    def _show_reading(self, reading: Reading | None) -> None:
        if reading is None:
            if self._session.selection.shown:
                self.readout.clear()
            else:
                self.readout.show_hint()
            return
        self.readout.show_point(reading, self._session.choices.form.value == "relative")
