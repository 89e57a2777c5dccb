"""What a worker process does: it reads files, keeps their traces, and compares them.

Only what grouping needs goes back after reading. A trace that is wanted and not held, because
another worker read it, is read again.
"""

import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from viewer.analysis.batch import Group, compare_or_say_why
from viewer.analysis.comparison import AnalysisInputs
from viewer.analysis.prediction.site_models import SiteModels
from viewer.reading.visits.open_source import Read
from viewer.site_data.iv_trace import Trace, Unreadable
from viewer.site_data.site_layout import SiteLayout
from viewer.state.opening.result_transport import packed

GIVES_WAY = 5
"""Added to a process's niceness, where the system knows such a thing: with as many processes as
cores a window waits for a processor again and again, 0.3 s at a time beside other programs."""


@dataclass(frozen=True)
class HeldTrace:
    """Stands for the trace in that place among those of a file, held by a worker."""

    source: str
    combiner: str | None
    string: str | None
    measured_at: datetime | None
    sha256: str | None
    file: str
    place: int


@dataclass(frozen=True, eq=False)
class Given:
    """What a worker needs to know of the site; `read` is None where it is handed traces."""

    layout: SiteLayout
    models: SiteModels
    inputs: AnalysisInputs | None
    read: Read | None


_given: dict[str, Given] = {}
"""Empty in any process but a worker that was told."""
_held: dict[tuple[str, int], Trace] = {}


def serve_the_starter() -> None:
    """First of all in a worker: the process that started it decides when it ends, and if that one
    is killed it ends, too. It would wait for work for ever."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_starter, daemon=True).start()


def _end_with_starter() -> None:
    starter = multiprocessing.parent_process()
    if starter is not None:
        starter.join()
        os._exit(1)


def started(behind_window: bool = False) -> None:
    """A process starts when it is first asked for anything; it gives way to a window."""
    if behind_window and hasattr(os, "nice"):
        os.nice(GIVES_WAY)


def learn(given: Given) -> None:
    """Before anything else: the site, the inputs, and how its files are read."""
    _given["all"] = given
    gc.disable()  # of what lives now nothing will be garbage, see `_tidy`
    gc.freeze()


def read_files(files: Sequence[str]) -> tuple[HeldTrace | Unreadable, ...]:
    """Reads files and holds their traces."""
    return tuple(one for file in files for one in _read(file))


def compare(groups: Sequence[Sequence[HeldTrace | Trace]]) -> bytes:
    """The packed outcomes of groups of traces."""
    given = _given["all"]
    lost: list[Unreadable] = []
    whole = [_whole(group, lost) for group in groups]
    found = compare_or_say_why(
        [group for group in whole if group], given.layout, given.models, given.inputs
    )
    content = packed((*found, *lost))
    del found, whole
    _tidy()
    return content


def _tidy() -> None:
    """Collects young garbage; what is held from piece to piece is never looked through again."""
    gc.collect(1)


def _read(file: str) -> list[HeldTrace | Unreadable]:
    read = _given["all"].read
    found = read(file) if read is not None else ()
    out: list[HeldTrace | Unreadable] = []
    for place, one in enumerate(found):
        if isinstance(one, Trace):
            _held[file, place] = one
            out.append(_stand_in(one, file, place))
        else:
            out.append(one)
    return out


def _stand_in(trace: Trace, file: str, place: int) -> HeldTrace:
    return HeldTrace(
        trace.source, trace.combiner, trace.string, trace.measured_at, trace.sha256, file, place
    )


def _whole(group: Sequence[HeldTrace | Trace], lost: list[Unreadable]) -> Group:
    """The group's traces; those whose files have changed so much that they are gone are lost."""
    traces: list[Trace] = []
    for one in group:
        trace = one if isinstance(one, Trace) else _taken(one)
        if trace is not None:
            traces.append(trace)
        else:
            said = f"{one.source} was changed while it was read; open the folder again."
            lost.append(Unreadable(one.source, said))
    return tuple(traces)


def _taken(wanted: HeldTrace) -> Trace | None:
    key = wanted.file, wanted.place
    if key not in _held:
        _read(wanted.file)
    return _held.pop(key, None)
