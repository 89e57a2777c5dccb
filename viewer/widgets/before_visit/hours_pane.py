"""Good hours: when the sun at the site is good enough to trace, by hour and month."""

from collections.abc import Sequence
from datetime import date

import numpy as np
from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontDatabase, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from viewer.analysis.before_visit.good_hours import (
    HourNeeds,
    TypicalWeather,
    share_by_month_and_hour,
)
from viewer.analysis.conditions.condition_thresholds import SOURCES, ConditionThresholds
from viewer.site_data.site_layout import Mounting
from viewer.state.before_visit import SunPart, sun_steps
from viewer.state.program.jobs import Job
from viewer.state.session import Session
from viewer.widgets.controls.binding import fill_choices, follow
from viewer.widgets.controls.day_box import DayBox
from viewer.widgets.controls.number_box import number_box
from viewer.widgets.controls.table_and_words import TableAndWords
from viewer.widgets.controls.theme import MEDIUM, SMALL, Look, Theme, figures_font, mixed

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
FIRST_HOUR, LAST_HOUR = 5, 20
THRESHOLDS: dict[str, str] = {
    "irradiance_for_power": "for power",
    "irradiance_for_comparison": "to compare",
}
"""Of the condition checks: which of them an hour may be asked to meet, and what they are for."""


class HourChart(QWidget):
    """Months down, hours across; each cell printed with the percentage that is good."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.share = np.full((12, 24), np.nan)
        self.theme: Theme | None = None
        self.setAccessibleName("Percentage of good time by month and hour")
        words = QFontMetrics(figures_font())
        widest = max(words.horizontalAdvance(name) for name in (*MONTHS, "100"))
        columns = LAST_HOUR - FIRST_HOUR + 2
        self.setMinimumSize(QSize(columns * (widest + 2), (len(MONTHS) + 1) * words.height()))

    def paintEvent(self, _: QPaintEvent) -> None:
        if self.theme is None:
            return
        painter = QPainter(self)
        painter.setFont(figures_font())
        painter.fillRect(self.rect(), QColor(self.theme.base))
        hours = range(FIRST_HOUR, LAST_HOUR + 1)
        wide = self.width() / (len(hours) + 1)
        high = self.height() / (len(MONTHS) + 1)
        painter.setPen(QColor(self.theme.text))
        centre = int(Qt.AlignmentFlag.AlignCenter)
        for place, hour in enumerate(hours, start=1):
            painter.drawText(QRectF(place * wide, 0, wide, high), centre, f"{hour:02d}")
        for month, name in enumerate(MONTHS):
            top = (month + 1) * high
            painter.drawText(QRectF(0, top, wide, high), centre, name)
            for place, hour in enumerate(hours, start=1):
                box = QRectF(place * wide + 1, top + 1, wide - 2, high - 2)
                self._cell(painter, box, float(self.share[month, hour]), self.theme)
        painter.end()

    @staticmethod
    def _cell(painter: QPainter, box: QRectF, share: float, theme: Theme) -> None:
        if not np.isfinite(share):
            return
        painter.fillRect(box, mixed(theme.base, theme.above, share))
        painter.setPen(QColor(theme.text))
        text = f"{100 * share:.0f}" if share > 0 else "·"
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)


class HoursPane(QWidget):
    def __init__(self, session: Session, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._look = look
        year = date.today().year
        self.first = DayBox("First day", date(year, 1, 1), self)
        self.last = DayBox("Last day", date(year, 12, 31), self)
        self.threshold = QComboBox(self)
        self.incidence = number_box("Largest angle of incidence", "°", 5, 90, 45, 0)
        self.tilt = number_box("Tilt of the modules", "°", 0, 90, 25, 0)
        self.azimuth = number_box("Azimuth, clockwise from north", "°", 0, 360, 180, 0)
        self.air = number_box("Typical air temperature", "°C", -30, 50, 20, 0)
        self.wind = number_box("Typical wind speed", "m/s", 0, 20, 1)
        self.compute = QPushButton("Compute", self)
        self.chart = HourChart(self)
        self.days = QPlainTextEdit(self)
        self.said = QLabel(self)
        self._parts: list[SunPart] = []
        self._job: Job | None = None
        self._lay_out()
        self.compute.clicked.connect(self.start)
        self._incidence_before: float | None = None
        self.show_thresholds()
        follow(self, session.settings.changed, self.show_thresholds)
        follow(self, session.site_changed, self.site_changed)
        follow(self, look.theme.changed, self.dress)
        self.dress()
        self.site_changed()

    def _lay_out(self) -> None:
        self.threshold.setAccessibleName("Least irradiance in the plane")
        self.days.setReadOnly(True)
        self.days.setAccessibleName("Longest good stretch of each day")
        self.days.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.days.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.days.setMinimumWidth(120)
        self.said.setWordWrap(True)
        form = QFormLayout()
        form.setSpacing(SMALL)
        fields: tuple[tuple[str, QWidget], ...] = (
            ("From", self.first),
            ("To", self.last),
            ("At least", self.threshold),
            ("Incidence up to", self.incidence),
            ("Tilt", self.tilt),
            ("Azimuth", self.azimuth),
            ("Air", self.air),
            ("Wind", self.wind),
        )
        for title, field in fields:
            form.addRow(title, field)
        form.addRow("", self.compute)
        for field in (*(field for _, field in fields), self.compute):
            field.setMaximumWidth(20 * self.fontMetrics().horizontalAdvance("0"))
        row = QHBoxLayout()
        row.setSpacing(MEDIUM)
        row.addLayout(form)
        row.addWidget(TableAndWords(self.chart, self.days, self), 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(MEDIUM, MEDIUM, MEDIUM, SMALL)
        column.addLayout(row, 1)
        column.addWidget(self.said)

    def show_thresholds(self, *_: object) -> None:
        """The limits as the settings have them; a check that is switched off asks for nothing."""
        limits = self._session.settings.value.thresholds
        choices: list[tuple[str, object]] = []
        sources = []
        for name, words in THRESHOLDS.items():
            value = getattr(limits, name)
            if value is not None:
                choices.append((f"{value:.0f} W/m² {words}", name))
                usual = value == getattr(ConditionThresholds, name)
                source = SOURCES[name] if usual else "from the settings"
                sources.append(f"{value:.0f} W/m²: {source}")
        choices = choices or [("any irradiance", None)]
        fill_choices(self.threshold, choices, self.threshold.currentData())
        self.threshold.setToolTip("\n".join(sources))
        angle = 90.0 if limits.incidence_angle is None else limits.incidence_angle
        if angle != self._incidence_before:
            self._incidence_before = angle
            self.incidence.setValue(angle)

    def least_irradiance(self) -> float:
        """In the plane [W/m²], as chosen; 0 where the settings switch the checks off."""
        name = self.threshold.currentData()
        value = getattr(self._session.settings.value.thresholds, name) if name else None
        return float(value or 0.0)

    def dress(self, *_: object) -> None:
        self.chart.theme = self._look.theme.value
        self.chart.update()

    def site_changed(self, *_: object) -> None:
        layout = self._session.layout
        location = layout.location if layout else None
        mounting = layout.mounting if layout else None
        if mounting is not None:
            self.tilt.setValue(mounting.tilt)
            self.azimuth.setValue(mounting.azimuth)
        self.compute.setEnabled(location is not None)
        if location is None:
            self.said.setText(
                "The sun needs a place: add [location] with latitude, longitude and timezone to "
                "site.toml."
            )
        elif not self._parts:
            self.said.setText("Compute shows when a clear sky is good enough.")

    def start(self) -> None:
        """Compute in the background; a running computation is dropped."""
        layout = self._session.layout
        if layout is None or layout.location is None:
            return
        if self._job is not None:
            self._job.cancel()
        location, mounting = layout.location, self._mounting()
        first, last = self.first.day(), self.last.day()
        needs = HourNeeds(self.least_irradiance(), self.incidence.value())
        weather = TypicalWeather(self.air.value(), self.wind.value())
        self._parts = []
        self._job = Job(
            "Good hours",
            lambda: sun_steps(location, mounting, first, max(first, last), needs, weather),
            self.take,
        )
        self._session.jobs.start(self._job)

    def _mounting(self) -> Mounting:
        layout = self._session.layout
        given = layout.mounting if layout else None
        if given is not None and given.tracking:
            return given
        return Mounting(self.tilt.value(), self.azimuth.value())

    def take(self, parts: Sequence[SunPart]) -> None:
        self._parts += parts
        self.chart.share = share_by_month_and_hour([part.course for part in self._parts])
        self.chart.update()
        self.days.setPlainText("\n".join(self._day_lines()))
        assumed = self._parts[0].course.assumptions
        self.said.setText(" ".join(f"{one[:1].upper()}{one[1:]}." for one in assumed))

    def _day_lines(self) -> list[str]:
        lines = ["Day         from   to     cells"]
        for part in self._parts:
            for window in part.windows:
                if window.start is None or window.end is None:
                    lines.append(f"{window.day}  none   up to {window.poa_global_max:.0f} W/m²")
                else:
                    lines.append(
                        f"{window.day}  {window.start:%H:%M}  {window.end:%H:%M}  "
                        f"{window.temperature_cell_mean:.0f} °C"
                    )
        return lines
