from dataclasses import replace

import pytest
from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QWidget

from viewer.widgets.decimal_mark import DecimalMark, locale_for
from viewer.widgets.number_box import number_box


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
