"""The crosshair's point in words: two lines beside the plot's buttons, and spoken."""

from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from viewer.physics.nomenclature import quantity
from viewer.widgets.plot.crosshair import Reading

HINT = "Select strings in the list or the heat-grid;\nCtrl adds more."


class PointReadout(QLabel):
    """Always two lines high, so that the plot stays where it is; a long name loses its middle."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.setMinimumSize(80, 2 * self.fontMetrics().lineSpacing())

    def show_point(self, reading: Reading, relative: bool) -> None:
        write = relative_text if relative else reading_text
        nameless, _, _ = write(replace(reading, label="")).partition("\n")
        metrics = self.fontMetrics()
        room = self.contentsRect().width() - metrics.horizontalAdvance(nameless)
        name = metrics.elidedText(reading.label, Qt.TextElideMode.ElideMiddle, room)
        self.setText(write(replace(reading, label=name)))


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
