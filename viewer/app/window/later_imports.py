"""Packages and panes that the window starts without, loaded while people look at it."""

import importlib
import logging
from collections.abc import Callable
from threading import Thread

from viewer.app.window.lesson_desk import LESSON_MODULE
from viewer.app.window.panes import PANES, Later

log = logging.getLogger(__name__)

LATER: tuple[str, ...] = (
    "pvlib",
    "scipy.stats",
    LESSON_MODULE,
    *(one.factory.module for one in PANES if isinstance(one.factory, Later)),
    "matplotlib.figure",
    "matplotlib.backends.backend_agg",
    "reportlab.platypus",
    "pypdfium2",
    "openpyxl",
    "xlsxwriter",
)
"""What would otherwise be loaded at first use, the soonest needed first: packages that functions
import, and the modules of panes that are not seen at first."""

AFTER = 400
"""Milliseconds after the window is shown: the first site's reading should begin before."""


def load_later(then: Callable[[], object] | None = None) -> Thread:
    """Start loading, and at its end what comes `then`; what is missing is told where needed."""
    thread = Thread(target=_load, args=(then,), name="later imports")
    thread.start()
    return thread


def _load(then: Callable[[], object] | None) -> None:
    for name in LATER:
        try:
            importlib.import_module(name)
        except ImportError as missing:
            log.info("%s was not loaded ahead: %s", name, missing)
    if then is not None:
        then()
