import sys

from PySide6.QtWidgets import QWidget

from viewer.app.window.failure_notice import FailureNotice


def test_an_unexpected_failure_is_told_once_and_logged(qtbot, tmp_path):
    window = QWidget()
    qtbot.addWidget(window)
    notice = FailureNotice(window, tmp_path)
    before = sys.excepthook
    notice.install()
    try:
        for number in (1, 2):
            try:
                raise KeyError(f"odd {number}")
            except KeyError:
                sys.excepthook(*sys.exc_info())
        first = notice.box
        assert first is not None
        assert "odd 1" in first.informativeText()
        assert str(notice.log_file) in first.informativeText()
        first.accept()
        assert notice.box is None
    finally:
        notice.remove()
    assert sys.excepthook is before
    text = notice.log_file.read_text(encoding="utf-8")
    assert text.count("Traceback") == 2
