"""The crosshair's point in words: beside the plot's buttons or below them, and spoken."""

from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from viewer.physics.nomenclature import quantity
from viewer.widgets.plot.crosshair import Reading

HINT = "Select strings in the list or the heat-grid;\nCtrl adds more."
BETWEEN = "   "
USUAL = Reading("", "CB-10-S10, 2025-01-01", 1500.0, 20.0, 20000.0, 20.0)
"""As long as readings of usual strings come: room is made for it."""


class PointReadout(QLabel):
    """As high while it says nothing, so that the plot stays where it is; a long name loses its
    middle. It has two lines, or one where all has room in one."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines = 2
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.take_place(below=False, room=0)

    def usual_width(self) -> int:
        """What a usual reading takes in two lines."""
        texts = reading_text(USUAL).split("\n")
        return max(self.fontMetrics().horizontalAdvance(one) for one in texts)

    def _width_of_one_line(self) -> int:
        """What it takes in one; a name without its day then loses nothing."""
        name, _, _ = USUAL.label.partition(",")
        text = reading_text(replace(USUAL, label=name)).replace("\n", BETWEEN)
        return self.fontMetrics().horizontalAdvance(text)

    def take_place(self, below: bool, room: int) -> None:
        """Beside the buttons in two lines at the right, or below them in as few as have room."""
        self._lines = 1 if below and self._width_of_one_line() <= room else 2
        side = Qt.AlignmentFlag.AlignLeft if below else Qt.AlignmentFlag.AlignRight
        self.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
        self.setMinimumSize(80, self._lines * self.fontMetrics().lineSpacing())

    def show_hint(self) -> None:
        self.setText(HINT.replace("\n", " ") if self._lines == 1 else HINT)

    def show_point(self, reading: Reading, relative: bool) -> None:
        write = relative_text if relative else reading_text
        nameless, _, _ = self._in_lines(write(replace(reading, label=""))).partition("\n")
        metrics = self.fontMetrics()
        room = self.contentsRect().width() - metrics.horizontalAdvance(nameless)
        name = metrics.elidedText(reading.label, Qt.TextElideMode.ElideMiddle, room)
        self.setText(self._in_lines(write(replace(reading, label=name))))

    def _in_lines(self, text: str) -> str:
        return text.replace("\n", BETWEEN) if self._lines == 1 else text


def reading_text(reading: Reading) -> str:
    """Two lines for the crosshair's point, each number with its unit."""
    voltage, current, power = quantity("voltage"), quantity("current"), quantity("power")
    text = (
        f"{reading.label}:  V {voltage.text(reading.voltage)} V   "
        f"I {current.text(reading.current)} A\nP {power.text(reading.power)} W"
    )
    if reading.predicted_current is not None:
        text += f"   predicted I {current.text(reading.predicted_current)} A"
    return text


def relative_text(reading: Reading) -> str:
    """The same in parts of the prediction."""
    return (
        f"{reading.label}:  V/Voc {reading.voltage:.3f}   I/Isc {reading.current:.3f}\n"
        f"P/(Voc·Isc) {reading.power:.3f}"
    )


def spoken_reading(reading: Reading, relative: bool = False) -> str:
    """The same in words, for who cannot see the crosshair."""
    voltage, current, power = quantity("voltage"), quantity("current"), quantity("power")
    if relative:
        return (
            f"{reading.label}: voltage {reading.voltage:.3f} of the predicted Voc, current "
            f"{reading.current:.3f} of the predicted Isc, power {reading.power:.3f} of their "
            "product"
        )
    said = (
        f"{reading.label}: voltage {voltage.text(reading.voltage)} V, current "
        f"{current.text(reading.current)} A, power {power.text(reading.power)} W"
    )
    if reading.predicted_current is not None:
        said += f", predicted current {current.text(reading.predicted_current)} A"
    return said
