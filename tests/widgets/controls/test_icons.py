import pytest
from PySide6.QtGui import QIcon

from viewer.state.strings.standing import LEVELS
from viewer.widgets.controls.icons import SIZE, has_icon, icon, pixmap


@pytest.mark.parametrize("level", LEVELS)
def test_every_level_has_an_icon_that_takes_the_colour(qapp, level):
    picture = pixmap(f"level_{level}", "#FF0000", 32).toImage()
    seen = {
        picture.pixelColor(x, y).name()
        for x in range(32)
        for y in range(32)
        if picture.pixelColor(x, y).alpha() == 255
    }
    assert seen == {"#ff0000"}


def test_an_icon_that_does_not_exist_is_told(qapp):
    assert not has_icon("nothing")
    with pytest.raises(FileNotFoundError):
        pixmap("nothing", "#000000", 16)


def test_an_icon_keeps_its_colour_in_a_selected_row(qapp):
    level = icon("level_short", "#FF0000")
    plain, chosen = (level.pixmap(SIZE, mode) for mode in (QIcon.Mode.Normal, QIcon.Mode.Selected))
    assert plain.toImage() == chosen.toImage()
