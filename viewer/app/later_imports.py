"""Packages and panes that the window starts without, loaded while people look at it."""

import importlib
import logging
from threading import Thread

from viewer.app.lesson_desk import LESSON_MODULE
from viewer.app.panes import PANES, Later

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


def load_later() -> Thread:
    """Start loading; what is missing is told where it is needed, not here."""
    thread = Thread(target=_load, name="later imports")
    thread.start()
    return thread


def _load() -> None:
    for name in LATER:
        try:
            importlib.import_module(name)
        except ImportError as missing:
            log.info("%s was not loaded ahead: %s", name, missing)
