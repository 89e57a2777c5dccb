"""The decimal mark of the boxes that numbers are typed into."""

from PySide6.QtCore import QLocale, QObject
from PySide6.QtWidgets import QWidget

from viewer.state.session import Session
from viewer.widgets.controls.binding import follow


def locale_for(mark: str) -> QLocale:
    """The locale of "system", "point" or "comma"; it marks no thousands."""
    made = {
        "point": QLocale(QLocale.Language.English, QLocale.Country.UnitedStates),
        "comma": QLocale(QLocale.Language.English, QLocale.Country.Germany),
    }.get(mark, QLocale.system())
    options = QLocale.NumberOption
    made.setNumberOptions(options.OmitGroupSeparator | options.RejectGroupSeparator)
    return made


class DecimalMark(QObject):
    """Gives `window`, and with it every box inside, the mark that the settings say."""

    def __init__(self, window: QWidget, session: Session) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        self._used = ""
        follow(self, session.settings.changed, self.use)
        self.use()

    def use(self, *_: object) -> None:
        mark = self._session.settings.value.decimal_mark
        if mark != self._used:
            self._used = mark
            QLocale.setDefault(locale_for(mark))
            self._window.setLocale(locale_for(mark))
