"""What a pane needs that is held in too little room: it is moved into sight, not cut."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from viewer.widgets.controls.moved_in_sight import MovedInSight
from viewer.widgets.controls.table_and_words import TableAndWords


def test_words_that_wrap_have_their_height(qtbot):
    """A pane's two notes wrapped to more lines than there was room, one under the other's plot."""
    pane = QWidget()
    column = QVBoxLayout(pane)
    labels = [QLabel("words that wrap " * 12), QLabel("and more of them " * 12)]
    for label in labels:
        label.setWordWrap(True)
        column.addWidget(label)
    frame = MovedInSight(pane)
    qtbot.addWidget(frame)
    frame.resize(220, 120)
    frame.show()
    qtbot.waitExposed(frame)
    for label in labels:
        assert label.height() >= label.heightForWidth(label.width())
    assert frame.verticalScrollBar().maximum() > 0
    assert frame.horizontalScrollBar().maximum() == 0


def test_a_least_size_of_its_own_is_kept(qtbot):
    chart, words = QWidget(), QLabel("words")
    chart.setMinimumSize(400, 200)
    both = TableAndWords(chart, words)
    qtbot.addWidget(both)
    assert both.orientation() == Qt.Orientation.Vertical
    assert both.minimumSizeHint().width() >= 400
    assert words.minimumWidth() == 80
