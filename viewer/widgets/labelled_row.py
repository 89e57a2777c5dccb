"""Fields in one line, each after its label: what is asked above a table that needs the width."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from viewer.widgets.theme import MEDIUM, SMALL


def labelled_row(*fields: tuple[str, QWidget]) -> QHBoxLayout:
    """Label and field side by side, one pair after the other; no label where it is empty."""
    row = QHBoxLayout()
    row.setSpacing(SMALL)
    for place, (words, field) in enumerate(fields):
        if place:
            row.addSpacing(MEDIUM)
        if words:
            label = QLabel(words)
            label.setBuddy(field)
            row.addWidget(label)
        row.addWidget(field)
    row.addStretch(1)
    return row
