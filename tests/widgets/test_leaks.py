"""Panes that are thrown away must really go, though session and look live on."""

import gc
import weakref

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication

from viewer.state.session import Arrival
from viewer.widgets.importing.import_pane import ImportPane
from viewer.widgets.lesson.lesson_pane import LessonPane
from viewer.widgets.plot.curve_plot import CurvePlot
from viewer.widgets.program.help_pane import HelpPane
from viewer.widgets.program.settings_pane import SettingsPane
from viewer.widgets.program.work_strip import WorkStrip
from viewer.widgets.strings.findings_pane import FindingsPane
from viewer.widgets.strings.heat_grid import HeatGrid
from viewer.widgets.strings.key_point_pane import KeyPointPane
from viewer.widgets.strings.notes_pane import NotesPane
from viewer.widgets.strings.string_list import StringList
from viewer.widgets.strings.unreadable_pane import UnreadablePane
from viewer.widgets.years.change_pane import ChangePane
from viewer.widgets.years.sample_pane import SamplePane
from viewer.widgets.years.warranty_pane import WarrantyPane
from viewer.widgets.years.years_pane import YearsPane

PANES = [
    CurvePlot,
    FindingsPane,
    HeatGrid,
    HelpPane,
    ImportPane,
    KeyPointPane,
    LessonPane,
    SettingsPane,
    StringList,
    UnreadablePane,
    WorkStrip,
    ChangePane,
    YearsPane,
    WarrantyPane,
    SamplePane,
    NotesPane,
]


@pytest.mark.parametrize("pane", PANES, ids=lambda one: one.__name__)
def test_a_pane_thrown_away_leaves_nothing_behind(pane, qapp, session, look):
    notifiers = [
        session.opened,
        session.arrived,
        session.selection.changed,
        session.settings.changed,
        look.theme.changed,
        session.choices.visit.changed,
        session.choices.form.changed,
        session.loaded,
        session.years.changed,
        session.years.baseline.changed,
        session.years.terms.changed,
        session.notes.changed,
        session.site_changed,
    ]
    before = [len(one) for one in notifiers]

    def make_and_drop() -> weakref.ref:
        widget = pane(session, look)
        widget.show()
        QApplication.processEvents()
        widget.close()
        widget.deleteLater()
        return weakref.ref(widget)

    alive = make_and_drop()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()
    gc.collect()
    assert alive() is None
    assert [len(one) for one in notifiers] == before
    session.selection.choose(["2025/C1/S4.csv"])
    session.arrived.notify(Arrival())
