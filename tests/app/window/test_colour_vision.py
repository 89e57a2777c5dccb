"""Pictures of the window as other eyes see them: what they show must not hang on colour alone.

Colour-vision deficiencies at full severity after G. M. Machado, M. M. Oliveira and L. A. F.
Fernandes, IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291-1298, and
distances of colours in CAM02-UCS (Luo, Cui and Li, 2006), by the library colorspacious.
`python -m tests.real_window.see_as_others FOLDER` writes the same pictures for looking at.
"""

from itertools import combinations, pairwise

import numpy as np
import pytest
from colorspacious import cspace_convert
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication, QWidget

from tests.real_window.see_as_others import VISIONS, as_seen
from viewer.app.window.main_window import MainWindow
from viewer.reports.curve_styles import STYLES
from viewer.site_data.resource_folder import example_folder
from viewer.state.program.settings import Settings
from viewer.state.session import Session
from viewer.state.visit_opening import open_site
from viewer.widgets.controls.theme import Look
from viewer.widgets.strings.heat_grid_cells import MARK_FROM, cell_colour
from viewer.widgets.strings.heat_grid_model import DEVIATION

FAR_APART = 12.0
"""In CAM02-UCS, where 1 is about what can just be seen: what two curves must differ by."""
STEP_APART = 4.0
"""The same for neighbouring classes of the heat-grid, whose cells print their numbers besides."""
CLASSES = (-10.0, -5.0, 0.0, 5.0, 10.0)
ENOUGH = 60
"""Pixels of a colour that make it a curve on the picture."""


@pytest.fixture(scope="module", params=["light", "dark"])
def window(qapp, request):
    session = Session(open_site, Settings(theme=request.param))
    made = MainWindow(session, Look(session.settings))
    made.resize(1280, 720)
    made.show()
    qapp.processEvents()
    session.open(example_folder())
    made.actions_by_id.run("select_suspects")
    qapp.processEvents()
    yield made
    made.close()
    made.deleteLater()


def picture(widget: QWidget) -> np.ndarray:
    QApplication.processEvents()
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


def rgb(colour: str | QColor) -> np.ndarray:
    one = QColor(colour)
    return np.array([one.red(), one.green(), one.blue()], dtype=np.uint8)


def apart(one: np.ndarray, other: np.ndarray) -> float:
    first, second = (cspace_convert(each / 255.0, "sRGB1", "CAM02-UCS") for each in (one, other))
    return float(np.linalg.norm(first - second))


@pytest.mark.parametrize("vision", VISIONS)
def test_the_curves_of_a_picture_stay_apart(window, vision):
    dark = window.look.theme.value.dark
    drawn = picture(window.plot.canvas)
    seen = as_seen(drawn, vision)
    colours = []
    for style in STYLES:
        mine = (drawn == rgb(style.colour(dark))).all(axis=2)
        assert mine.sum() > ENOUGH, style
        colours.append(np.median(seen[mine], axis=0))
    for one, other in combinations(colours, 2):
        assert apart(one, other) > FAR_APART


@pytest.mark.parametrize("vision", VISIONS)
def test_classes_of_the_heat_grid_stay_in_order(window, vision):
    theme, full = window.look.theme.value, window.session.settings.value.grid_range
    colours = [rgb(cell_colour(one * full / 10.0, full, theme)) for one in CLASSES]
    seen = as_seen(np.array([colours], dtype=np.uint8), vision)[0]
    for one, after in pairwise(seen):
        assert apart(one, after) > STEP_APART
    assert apart(seen[0], seen[-1]) > FAR_APART
    assert apart(seen[1], seen[-2]) > FAR_APART


def test_the_same_cells_can_be_told_without_any_colour(window):
    """Every cell prints its number; those that matter carry a triangle in the text's colour."""
    grid = window.pane("heat_grid")
    view, model = grid.view, grid.model
    theme, full = window.look.theme.value, window.session.settings.value.grid_range
    drawn = picture(view.viewport())
    marked = 0
    for row in range(model.rowCount()):
        for column in range(model.columnCount()):
            index = model.index(row, column)
            box = view.visualRect(index)
            deviation = index.data(DEVIATION)
            if not view.viewport().rect().contains(box) or not np.isfinite(deviation):
                continue
            cell = drawn[box.top() : box.bottom(), box.left() : box.right()]
            words = (cell == rgb(theme.text)).all(axis=2)
            half = box.width() // 3
            assert words[:, half:].any(), (row, column)
            if abs(deviation) >= MARK_FROM * full:
                marked += 1
                assert words[4:-4, 3:half].any(), (row, column, deviation)
    assert marked > 0


def test_every_standing_is_a_word_and_a_shape_besides_its_colour(window):
    model = window.pane("strings").model
    shapes: dict[str, bytes] = {}
    for row in range(model.rowCount()):
        index = model.index(row, 4)
        word = str(index.data()).split(",")[0].split(" by ")[0]
        image = index.data(1).pixmap(32).toImage().createAlphaMask()
        shapes[word] = bytes(image.constBits())
    assert len(shapes) >= 3
    assert len(set(shapes.values())) == len(shapes)
