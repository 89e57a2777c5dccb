"""Steps of a job computed by a process of its own: there they take no turns from the window.

Meant for what computes in Python for tenths of a second and needs little to begin with, such as
drawing a plot for print. One piece of work at a time; a second waits, and can be cancelled.
"""

import importlib
import multiprocessing
import pickle
import signal
import traceback
from collections.abc import Iterator
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from threading import Lock
from typing import Any

from viewer.state.program.jobs import Progress, Step, Work

AHEAD = ("matplotlib.backends.backend_agg", "matplotlib.backends.backend_svg")
"""Loaded by the process before it is asked for anything."""
STOP = b"stop"
STEP, END = "step", "end"
LOOK_EVERY = 0.1
"""Seconds after which work that waits can be cancelled."""
WAITING = "waiting for what is under way"
LOST = "The process that computes for the window has ended; do it once more."


class WorkElsewhere:
    """Stands in the place of `jobs.here`. The process is started by `start` or at first use, and
    anew when it has ended."""

    def __init__(self) -> None:
        self._busy = Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    def start(self) -> None:
        """Have the process ready before it is needed. Returns at once."""
        if self._busy.acquire(blocking=False):
            try:
                self._ready()
            finally:
                self._busy.release()

    def __call__(self, work: Work, *given: Any) -> Iterator[Step]:
        """Raises OSError, in words, when the process ends before its work has."""
        while not self._busy.acquire(timeout=LOOK_EVERY):
            yield Step(Progress(0, None, WAITING))
        try:
            yield from self._done_there(pickle.dumps((work, given)))
        finally:
            self._busy.release()

    def close(self) -> None:
        """Ends the process."""
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.terminate()
            process.join()

    def _ready(self) -> Connection:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            self.close()
            context = multiprocessing.get_context("spawn")
            self._pipe, there = context.Pipe()
            self._process = context.Process(target=serve, args=(there,), daemon=True)
            self._process.start()
            there.close()
        return self._pipe

    def _done_there(self, asked: bytes) -> Iterator[Step]:
        pipe = self._ready()
        under_way = True
        try:
            pipe.send_bytes(asked)
            while under_way:
                kind, content = pickle.loads(pipe.recv_bytes())
                under_way = kind == STEP
                if under_way:
                    yield content
        except (EOFError, BrokenPipeError, ConnectionResetError):
            under_way = False
            self.close()  # a process that is dying may still be called alive
            raise OSError(LOST) from None
        finally:
            if under_way:
                _stop(pipe)
        if content is not None:
            raise content


def _stop(pipe: Connection) -> None:
    """Ask for an end after the step under way, and wait for it."""
    try:
        pipe.send_bytes(STOP)
        while pickle.loads(pipe.recv_bytes())[0] == STEP:
            pass
    except (EOFError, OSError):
        return


def serve(pipe: Connection) -> None:
    """The process: does what it is sent until the other end is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the window decides when it ends
    for name in AHEAD:
        with suppress(ImportError):  # what is missing is told by the work that needs it
            importlib.import_module(name)
    while True:
        try:
            asked = pipe.recv_bytes()
            if asked != STOP:
                pipe.send_bytes(pickle.dumps((END, _problem_of(pipe, *pickle.loads(asked)))))
        except (EOFError, OSError):
            return


def _problem_of(pipe: Connection, work: Work, given: tuple[Any, ...]) -> Exception | None:
    """Send the steps on; what went wrong, as an exception that any process can read."""
    try:
        for step in work(*given):
            pipe.send_bytes(pickle.dumps((STEP, step)))
            if pipe.poll():
                break
    except (OSError, ValueError) as problem:
        return ValueError(str(problem))
    except Exception as problem:  # noqa: BLE001 (raised again where the work was asked for)
        told = RuntimeError(repr(problem))
        told.add_note(traceback.format_exc())  # of this process, which ends with it
        return told
    return None
