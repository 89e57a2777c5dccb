import pytest

from viewer.widgets.plot.curve_plot import CurvePlot


@pytest.fixture
def plot(shown, session, look):
    return shown(CurvePlot(session, look))


@pytest.fixture
def axis(plot):
    return plot.canvas.panels["iv"].plot.getAxis("left")


def test_the_longest_words_that_have_room_are_shown(axis):
    long, longer = "Current (A)", "Current through the whole of a rather long string (A)"
    axis.show_words(longer, long, "I (A)")
    assert (axis.labelText, axis.toolTip()) == (long, longer)
    axis.show_words(longer)
    assert (axis.labelText, axis.toolTip()) == (longer, ""), "there are no shorter ones"


def test_the_words_follow_the_room(axis):
    axis.show_words("Current (A)", "I (A)")
    assert axis.labelText == "Current (A)"
    for height, words in ((40, "I (A)"), (200, "Current (A)")):
        axis.resize(66, height)
        assert axis.labelText == words


def test_other_words_stand_in_the_middle_of_the_axis(axis):
    for words in ("I (A)", "Current of the string (A)"):
        axis.show_words(words)
        middle = axis.label.mapRectToParent(axis.label.boundingRect()).center().y()
        assert middle == pytest.approx(axis.size().height() / 2, abs=1.5)
