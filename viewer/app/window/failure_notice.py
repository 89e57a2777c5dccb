"""What happens when something in the window fails unexpectedly: a log entry and one dialog."""

import logging
import sys
from pathlib import Path
from types import TracebackType

from platformdirs import user_log_path
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QMessageBox, QWidget

log = logging.getLogger(__name__)

LOG_FILE_NAME = "curvewright.log"


class FailureNotice(QObject):
    """While installed, an exception that nobody caught is logged and told once; work goes on."""

    def __init__(self, window: QWidget, log_folder: Path | None = None) -> None:
        super().__init__(window)
        self._window = window
        self._folder = log_folder or user_log_path("curvewright", appauthor=False)
        self._before = sys.excepthook
        self._handler: logging.Handler | None = None
        self.box: QMessageBox | None = None

    @property
    def log_file(self) -> Path:
        return self._folder / LOG_FILE_NAME

    def install(self) -> None:
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            self._handler = logging.FileHandler(self.log_file, encoding="utf-8", delay=True)
            self._handler.setFormatter(
                logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
            )
            logging.getLogger("viewer").addHandler(self._handler)
        except OSError:
            self._handler = None
        self._before = sys.excepthook
        sys.excepthook = self.tell

    def remove(self) -> None:
        sys.excepthook = self._before
        if self._handler is not None:
            logging.getLogger("viewer").removeHandler(self._handler)
            self._handler.close()

    def tell(
        self, kind: type[BaseException], problem: BaseException, trace: TracebackType | None
    ) -> None:
        """Log it with its traceback and show one box; a box still open is not doubled."""
        if issubclass(kind, KeyboardInterrupt):
            self._before(kind, problem, trace)
            return
        log.critical("unexpected failure", exc_info=(kind, problem, trace))
        if self.box is not None:
            return
        self.box = QMessageBox(self._window)
        self.box.setIcon(QMessageBox.Icon.Warning)
        self.box.setWindowTitle("Something failed")
        self.box.setText(
            "Something in the window failed unexpectedly; the window goes on.\n\n"
            "Trace files are only read, never changed, so nothing measured is lost."
        )
        self.box.setInformativeText(
            f"{kind.__name__}: {problem}\n\nThe details are in {self.log_file}"
        )
        self.box.finished.connect(self._closed)
        self.box.open()

    def _closed(self, _: int) -> None:
        self.box = None
