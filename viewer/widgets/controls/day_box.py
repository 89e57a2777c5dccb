"""A box for a day, with a calendar; written as files write days, whatever the locale."""

from datetime import date

from PySide6.QtCore import QDate
from PySide6.QtWidgets import QDateEdit, QWidget


class DayBox(QDateEdit):
    """`title` is what a screen reader says."""

    def __init__(self, title: str, day: date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(title)
        self.setCalendarPopup(True)
        self.setDisplayFormat("yyyy-MM-dd")
        self.show_day(day)

    def show_day(self, day: date) -> None:
        self.setDate(QDate(day.year, day.month, day.day))

    def day(self) -> date:
        shown = self.date()
        return date(shown.year(), shown.month(), shown.day())
