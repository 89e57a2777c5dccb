"""A progress bar that is painted in the window's own turn."""

from PySide6.QtWidgets import QProgressBar


class PatientBar(QProgressBar):
    def show_progress(self, done: int, total: int | None, words: str) -> None:
        """Qt's bar paints itself at every change at once, and with it all of the window that is
        out of date, which more news may change again: here it waits for its turn like the rest.

        `total` None: how much there is to do is not known.
        """
        self.setUpdatesEnabled(False)
        self.setRange(0, total or 0)
        if total:
            self.setValue(done)
            self.setFormat(words)
        self.setUpdatesEnabled(True)
