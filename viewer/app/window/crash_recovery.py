"""Notices that the program did not end as it should, and what was open then.

While the program runs, a record of what is open lies beside its settings, under a lock that
dies with the program. A record without a living lock is what a crash left behind.
"""

import contextlib
import faulthandler
import logging
import os
from pathlib import Path
from typing import TextIO

from PySide6.QtCore import QLockFile, QObject, QTimer

from viewer.state.keeping.what_was_open import SUFFIX, WhatWasOpen, read_open, write_open
from viewer.state.session import Session
from viewer.widgets.controls.binding import follow

log = logging.getLogger(__name__)

LOCK_SUFFIX = ".lock"
CRASH_FILE_NAME = "crash.log"
SOON = 500
"""Milliseconds from a change to its record: many changes in a row are written once."""


class CrashRecovery(QObject):
    """`folder` is where records lie; `crash_folder` gets what the interpreter says of a crash."""

    def __init__(self, session: Session, folder: Path, crash_folder: Path) -> None:
        super().__init__()
        self._session = session
        self._folder = folder
        self._file = folder / f"{os.getpid()}{SUFFIX}"
        self._lock: QLockFile | None = None
        self.crash_file = crash_folder / CRASH_FILE_NAME
        self._told: TextIO | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(SOON)
        self._timer.timeout.connect(self.write)

    def begin(self) -> WhatWasOpen | None:
        """Start keeping the record; what a crash left behind, if anything, is returned once."""
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            left = self._left_behind()
            self._lock = _locked(self._file)
        except OSError as problem:
            log.warning("what is open is not kept in %s: %s", self._folder, problem)
            return None
        with contextlib.suppress(OSError):
            self.crash_file.parent.mkdir(parents=True, exist_ok=True)
            self._told = self.crash_file.open("a", encoding="utf-8")
            faulthandler.enable(self._told)
        session = self._session
        for notifier in (
            session.opened,
            session.selection.changed,
            session.choices.visit.changed,
        ):
            follow(self, notifier, self._changed)
        return left

    def _left_behind(self) -> WhatWasOpen | None:
        """The newest record whose program is gone; all such records are cleared away."""
        newest: WhatWasOpen | None = None
        records = sorted(self._folder.glob(f"*{SUFFIX}"), key=lambda one: one.stat().st_mtime)
        for record in records:
            lock = _locked(record)
            if lock is None:
                continue
            newest = read_open(record) or newest
            record.unlink(missing_ok=True)
            lock.unlock()
        return newest

    def _changed(self, *_: object) -> None:
        self._timer.start()

    def write(self) -> None:
        session = self._session
        if session.folder is None or self._lock is None:
            return
        chosen = session.selection
        record = WhatWasOpen(
            str(session.folder),
            session.choices.visit.value or "",
            chosen.ids,
            chosen.current or "",
            chosen.pinned,
        )
        try:
            write_open(self._file, record)
        except OSError as problem:
            log.warning("what is open was not kept in %s: %s", self._file, problem)

    def end(self) -> None:
        """The program ends as it should: nothing is left behind."""
        self._timer.stop()
        with contextlib.suppress(OSError):
            self._file.unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None
        if self._told is not None:
            faulthandler.disable()
            self._told.close()
            self._told = None


def _locked(record: Path) -> QLockFile | None:
    """The record's lock, taken; None while the program that wrote it still runs."""
    lock = QLockFile(str(record) + LOCK_SUFFIX)
    lock.setStaleLockTime(0)  # age says nothing: only the end of its process frees a lock
    return lock if lock.tryLock(0) else None
