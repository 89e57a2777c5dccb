"""Fields in one line, each after its label: what is asked above a table that needs the width."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from viewer.widgets.controls.theme import MEDIUM, SMALL


def labelled_row(*fields: tuple[str, QWidget]) -> QHBoxLayout:
    """Label and field side by side, one pair after the other; no label where it is empty."""
    row = QHBoxLayout()
    row.setSpacing(SMALL)
    for place, (words, field) in enumerate(fields):
        if place:
            row.addSpacing(MEDIUM)
        if words:
            row.addWidget(QLabel(words))  # no buddy: the field's own name says more
        row.addWidget(field)
    row.addStretch(1)
    return row
