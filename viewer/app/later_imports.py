"""Packages that the window starts without, loaded in the background while people look at it."""

import importlib
import logging
from threading import Thread

log = logging.getLogger(__name__)

LATER: tuple[str, ...] = (
    "pvlib",
    "scipy.stats",
    "matplotlib.figure",
    "matplotlib.backends.backend_agg",
    "reportlab.platypus",
    "openpyxl",
    "xlsxwriter",
)
"""What imports of a function would otherwise load at first use, the soonest needed first."""

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
