from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QLocale, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QWidget

from viewer.widgets.controls.decimal_mark import DecimalMark, locale_for
from viewer.widgets.controls.number_box import number_box


@pytest.fixture(autouse=True)
def usual_locale():
    before = QLocale()
    yield
    QLocale.setDefault(before)


@pytest.fixture
def box(shown, session):
    window = QWidget()
    box = number_box("Wind", "m/s", 0, 2000, 1.5)
    box.setParent(window)
    DecimalMark(window, session)
    shown(window, 200, 60)
    yield box
    window.close()  # held until here: a window without a parent vanishes with its last name


def use(session, mark):
    session.settings.value = replace(session.settings.value, decimal_mark=mark)


def test_boxes_follow_the_setting_at_once(box, session):
    use(session, "comma")
    assert box.text() == "1,5 m/s"
    use(session, "point")
    assert box.text() == "1.5 m/s"


@pytest.mark.parametrize("mark", ["comma", "point"])
@pytest.mark.parametrize("typed", ["2.5", "2,5"])
def test_either_mark_may_be_typed_and_none_turns_into_thousands(qtbot, box, session, mark, typed):
    use(session, mark)
    box.selectAll()
    qtbot.keyClicks(box, typed)
    box.interpretText()
    assert box.value() == 2.5


def test_thousands_are_not_marked():
    assert locale_for("comma").toString(1234.5, "f", 1) == "1234,5"
    assert locale_for("point").toString(1234.5, "f", 1) == "1234.5"


@pytest.fixture
def cold(shown, session):
    window = QWidget()
    box = number_box("Lowest temperature", "°C", -60, 40, -10)
    box.setParent(window)
    DecimalMark(window, session)
    shown(window, 200, 60)
    yield box
    window.close()


@pytest.mark.parametrize("mark", ["comma", "point"])
def test_a_negative_number_has_a_minus_sign(cold, session, mark):
    use(session, mark)
    assert cold.text() == {"comma": "−10,0 °C", "point": "−10.0 °C"}[mark]
    cold.setValue(-0.04)
    assert cold.cleanText() in ("0,0", "0.0")


def type_in(box, text):
    """Key by key; signs beyond ASCII, too."""
    for sign in text:
        key = Qt.Key.Key_unknown
        press = QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, sign)
        QApplication.sendEvent(box, press)


@pytest.mark.parametrize("mark", ["comma", "point"])
@pytest.mark.parametrize("typed", ["-12.5", "−12,5"])
def test_a_hyphen_and_a_minus_sign_may_be_typed(cold, session, mark, typed):
    use(session, mark)
    cold.selectAll()
    type_in(cold, typed[:1])
    assert cold.lineEdit().text().startswith("−")
    type_in(cold, typed[1:])
    cold.interpretText()
    assert cold.value() == -12.5
    cold.stepUp()
    assert cold.value() == -11.5
    assert cold.text().startswith("−11")
