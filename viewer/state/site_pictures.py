"""The pictures of the open site: which there are, small copies to show, and each change.

Every touch of a file is a job. Small copies are made for the strings that are looked at, since
decoding a camera's file takes a tenth of a second.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.pictures import (
    NewPicture,
    Picture,
    PicturePlace,
    read_picture,
    small_picture,
)
from viewer.state.keeping.folder_history import FileStep
from viewer.state.keeping.picture_store import PictureStore, added_label, pictures_at
from viewer.state.program.jobs import Job, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier
from viewer.state.session import Session

SMALL = 264
"""Pixels of a small copy's longer side: twice what is shown, for screens of double density."""
LARGE = 1600

Deed = Callable[[PictureStore], FileStep | None]


@dataclass(frozen=True)
class Read:
    """What a job has read, and the step of the folder's history that it made."""

    pictures: tuple[Picture, ...]
    step: FileStep | None = None
    said: str = ""


@dataclass(frozen=True)
class Shown:
    """A copy to show as a JPEG; empty where it cannot be made, `said` tells why."""

    sha256: str
    content: bytes
    said: str = ""


class SitePictures:
    def __init__(self, session: Session) -> None:
        self.changed = Notifier()
        """There are others, or more small copies have been made."""
        self.every: tuple[Picture, ...] = ()
        self._small: dict[str, bytes] = {}
        self._making: set[str] = set()
        self._session = session
        session.kept_may_differ.connect(self.read)

    def of(self, result: TraceResult | None) -> tuple[Picture, ...]:
        """Those of the result's string, whichever visit they belong to."""
        if result is None:
            return ()
        return tuple(one for one in self.every if shows(one, result))

    def small(self, picture: Picture) -> bytes | None:
        """Its small copy as a JPEG; empty if none can be made, None while there is none yet."""
        return self._small.get(picture.sha256)

    def read(self, *_: object) -> None:
        """Read which there are of what is open."""
        path = self._session.folder
        if path is None or not path.exists():
            self.every = ()
            self.changed.notify()
        else:
            self._do("Pictures", lambda _: None)

    def attach(self, result: TraceResult, files: Sequence[Path]) -> None:
        """Keep copies of the files with the string and the trace; all of them or none."""
        place = self._place(result)
        made: list[NewPicture] = []

        def deed(store: PictureStore) -> FileStep | None:
            made.extend(read_picture(file) for file in files)
            return store.add(made, place)

        self._do("Attaching pictures", deed, lambda: f"{added_label(made)} kept with the site.")

    def describe(self, picture: Picture, kind: str, caption: str) -> None:
        """Say otherwise what it shows."""
        if (kind, caption) != (picture.kind, picture.caption):
            self._do("Caption", lambda store: store.change(picture, kind, caption))

    def remove(self, picture: Picture) -> None:
        self._do(
            "Removing a picture",
            lambda store: store.remove(picture),
            lambda: f"{picture.file_name} removed; undo brings it back.",
        )

    def make_small(self, pictures: Sequence[Picture]) -> None:
        """Small copies of those that have none, one after the other."""
        path = self._session.folder
        known = self._small.keys() | self._making
        wanted = [one for one in pictures if one.sha256 not in known]
        if not wanted or path is None:
            return
        self._making.update(one.sha256 for one in wanted)
        job = Job("Pictures", lambda: copies(path, wanted, SMALL), self._take_small)
        job.outcome.changed.connect(self._made_small)
        self._session.jobs.start(job)

    def make_large(self, picture: Picture, take: Callable[[Shown], object]) -> None:
        """A copy that fills a window, handed to `take`."""
        path = self._session.folder
        if path is not None:
            self._session.jobs.start(
                Job("Picture", lambda: copies(path, [picture], LARGE), lambda got: take(got[-1]))
            )

    def _place(self, result: TraceResult) -> PicturePlace:
        """A string that the layout does not know is named by its trace alone."""
        trace, layout = result.trace, self._session.layout
        if layout is None or layout.string(trace.combiner, trace.string) is None:
            return PicturePlace(trace=trace.source)
        return PicturePlace(*trace.place, trace.source)

    def _do(self, title: str, deed: Deed, said: Callable[[], str] = str) -> None:
        path = self._session.folder
        if path is None:
            return

        def steps() -> Iterator[Step]:
            yield Step(Progress(0, 1, path.name))
            store = pictures_at(path)
            step = deed(store)
            yield Step(Progress(1, 1, path.name), Read(store.read(), step, said()))

        job = Job(title, steps, lambda found: self._take(path, found[-1]))
        job.outcome.changed.connect(self._ended)
        self._session.jobs.start(job)

    def _take(self, path: Path, found: Read) -> None:
        session = self._session
        if path != session.folder:
            return
        self.every = found.pictures
        if found.step is not None:
            session.history.did(found.step)
        if found.said:
            session.message.value = found.said
            session.notes.renew()
        self.changed.notify()

    def _take_small(self, made: Sequence[Shown]) -> None:
        self._small |= {one.sha256: one.content for one in made}
        problems = [one.said for one in made if one.said]
        if problems:
            self._session.message.value = problems[-1]
        self.changed.notify()

    def _made_small(self, _: Outcome) -> None:
        self._making.clear()

    def _ended(self, outcome: Outcome) -> None:
        if outcome.kind == "failed":
            self._session.message.value = outcome.text


def shows(picture: Picture, result: TraceResult) -> bool:
    """Whether it shows the string of a result."""
    place, trace = picture.place, result.trace
    if place.trace == trace.source:
        return True
    return bool(place.string) and (place.combiner, place.string) == (
        trace.combiner or "",
        trace.string or "",
    )


def copies(path: Path, pictures: Sequence[Picture], longest: int) -> Iterator[Step]:
    """A copy of each; what cannot be shown is told and does not stop the others."""
    store = pictures_at(path)
    for number, one in enumerate(pictures, start=1):
        try:
            content, said = small_picture(store.content(one), longest, one.file_name), ""
        except (ValueError, OSError) as problem:
            content, said = b"", str(problem)
        progress = Progress(number, len(pictures), one.file_name)
        yield Step(progress, Shown(one.sha256, content, said))
