"""Tables of strings: names are whole, as far as there is sense in it."""

import pytest
from PySide6.QtWidgets import QTableView

from viewer.widgets.controls.plain_rows import PlainRow, PlainRows, set_widths


@pytest.fixture
def view(shown, session):
    view = QTableView()
    view.setModel(PlainRows(session, ("String", "Power"), (1,)))
    set_widths(view, (9, 8), names=0)
    return shown(view)


def listed(view, *names):
    view.model().show_rows([PlainRow((name, "1"), ("C", name)) for name in names])
    return view.columnWidth(0)


def test_the_column_of_names_grows_with_them(view):
    """Forty strings of a warranty check were all called 'INV1-DC…'."""
    usual = view.columnWidth(0)
    assert listed(view, "S1", "S2") == usual
    name = "INV1-DC05-S18"
    need = view.fontMetrics().horizontalAdvance(name)
    assert usual < need < listed(view, "INV1-DC05-S1", name)
    assert listed(view, "N" * 300) < 300 * view.fontMetrics().horizontalAdvance("N") / 10
    assert view.columnWidth(1) > 0
