"""The pages of a report that are looked at: drawn by a job, kept only near what is in sight."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from viewer.reports.pdf_pictures import PagePicture, PdfPictures
from viewer.state.program.jobs import Job, Jobs, Outcome, Progress, Step
from viewer.state.program.notifier import Notifier, Value


@dataclass(frozen=True)
class _Drawn:
    place: int
    picture: PagePicture


class ReportPages:
    """Draws what is wanted, the first wanted first, and forgets what no longer is."""

    def __init__(self, jobs: Jobs) -> None:
        self.document: Value[PdfPictures | None] = Value(None)
        self.drawn = Notifier()
        """More pages have been drawn."""
        self._jobs = jobs
        self._pictures: dict[int, PagePicture] = {}
        self._wanted: tuple[tuple[int, float], ...] = ()
        self._job: Job | None = None
        self._unheard: Callable[[], None]
        """Ends hearing of the job's outcome; there is one while there is a job."""

    def show(self, document: PdfPictures | None) -> None:
        """Another document, or none: the pages of the one before are dropped."""
        self._stop()
        self._pictures, self._wanted = {}, ()
        self.document.value = document

    def picture(self, place: int) -> PagePicture | None:
        """The page as it was drawn last, perhaps at another scale; None: not drawn yet."""
        return self._pictures.get(place)

    @property
    def kept(self) -> tuple[int, ...]:
        return tuple(self._pictures)

    def want(self, places: Sequence[int], scale: float) -> None:
        """Keep these pages at `scale` pixels a point and no others; draw what is missing."""
        self._wanted = tuple((place, scale) for place in places)
        self._pictures = {one: self._pictures[one] for one in places if one in self._pictures}
        self._begin()

    def _missing(self) -> bool:
        """Whether a wanted page is not there at the scale it is wanted at."""
        pictures = self._pictures
        return any(
            place not in pictures or pictures[place].scale != scale for place, scale in self._wanted
        )

    def _begin(self) -> None:
        document = self.document.value
        if self._job is not None or document is None or not self._missing():
            return
        known = {(place, one.scale) for place, one in self._pictures.items()}
        self._job = Job("Pages of the report", lambda: self._steps(document, known), self._take)
        self._unheard = self._job.outcome.changed.connect(self._ended)
        self._jobs.start(self._job)

    def _steps(self, document: PdfPictures, known: set[tuple[int, float]]) -> Iterator[Step]:
        """What is wanted may change while it draws: it always takes the first that is missing."""
        total = len(document.sizes)
        while True:
            one = next((one for one in self._wanted if one not in known), None)
            if one is None:
                return
            known.add(one)
            place, scale = one
            picture = document.draw(place, scale)
            yield Step(Progress(place + 1, total, "page"), _Drawn(place, picture))

    def _take(self, drawn: Sequence[_Drawn]) -> None:
        wanted = {place for place, _ in self._wanted}
        for one in drawn:
            if one.place in wanted:
                self._pictures[one.place] = one.picture
        self.drawn.notify()

    def _ended(self, outcome: Outcome) -> None:
        """Something may have been asked for just after the job had looked for the last time."""
        self._job = None
        if outcome.kind == "done":
            self._begin()

    def _stop(self) -> None:
        if self._job is not None:
            self._unheard()
            self._job.cancel()
            self._job = None
