import os
from pathlib import Path

import pytest

from tests.invented_results import InventedOpener, invented_visits
from viewer.state.program.settings import Settings
from viewer.state.session import Session

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


@pytest.fixture
def session():
    """Two invented visits, opened here and now."""
    opened = Session(InventedOpener(invented_visits()), Settings(theme="light"))
    opened.open(Path("/invented/visit"))
    return opened


@pytest.fixture
def look(qapp, session):
    from viewer.widgets.controls.theme import Look

    return Look(session.settings)


@pytest.fixture
def shown(qtbot):
    """Shows a widget of a given size and waits until it is painted."""

    def show(widget, width=900, height=500):
        qtbot.addWidget(widget)
        widget.resize(width, height)
        with qtbot.waitExposed(widget):
            widget.show()
        return widget

    return show
