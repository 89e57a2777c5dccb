"""The marks on the plots of what is open: which there are, which is chosen, and each change."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from viewer.reports.annotation import Annotation, AnnotationError, PlacedAnnotation, shown_on
from viewer.reports.curve_figure import CurveFigure
from viewer.state.keeping.folder_history import FolderHistory
from viewer.state.keeping.mark_store import MarkStore, store_for
from viewer.state.program.notifier import Notifier, Value

Point = tuple[float, float]


class PlotMarks:
    """Keeps every change at once where the site is kept; what goes wrong is said in `message`."""

    def __init__(self, message: Value[str], history: FolderHistory) -> None:
        self.changed = Notifier()
        self.kept = Notifier()
        """A change was kept: there is another step to undo."""
        self.tool: Value[str | None] = Value(None)
        """The kind of mark that the next press on the plot begins; None to choose and move."""
        self.chosen: Value[int | None] = Value(None)
        self._message = message
        self._history = history
        self._store: MarkStore | None = None
        self._marks: dict[int, PlacedAnnotation] = {}

    @property
    def all(self) -> tuple[PlacedAnnotation, ...]:
        return tuple(self._marks.values())

    def open(self, path: Path) -> None:
        """Forget what was open and read the marks kept at a path, if it exists."""
        self._store = store_for(path, self._history)
        self.tool.value = None
        self._marks = {}
        if path.exists():
            self._read()
        self._tell()

    def refresh(self, *_: object) -> None:
        """Read them again: a step of undo, or another window, may have changed them."""
        if self._store is None:
            return
        before = self._marks
        self._read()
        if self._marks != before:
            self._tell()

    def get(self, number: int | None) -> PlacedAnnotation | None:
        return self._marks.get(number) if number is not None else None

    def on(self, figure: CurveFigure, form: str) -> tuple[PlacedAnnotation, ...]:
        """The marks that a figure shows."""
        return shown_on(figure, form, self.all)

    def add(self, trace_id: str, mark: Annotation) -> int | None:
        """Keep a new mark and choose it; its number, or None when it could not be kept."""
        made: list[int] = []
        store = self._store
        if store is None or not self._done(lambda: made.append(store.add(trace_id, mark))):
            return None
        self.chosen.value = made[0]
        return made[0]

    def say(self, number: int, text: str) -> None:
        """Change the words of a mark."""
        placed = self.get(number)
        if placed is None or placed.mark.text == text:
            return
        self._change(placed, "edit", text=text)

    def move(self, number: int, points: tuple[Point, ...], point: int | None = None) -> None:
        """Put a mark elsewhere; `point` ties a callout to another data point."""
        placed = self.get(number)
        if placed is None or (points, point) == (placed.mark.points, placed.mark.point):
            return
        self._change(placed, "move", points=points, point=point)

    def remove(self, number: int | None = None) -> None:
        """Delete a mark, the chosen one if none is named."""
        wanted = self.chosen.value if number is None else number
        store = self._store
        if store is not None and self.get(wanted) is not None and wanted is not None:
            self.chosen.value = None
            self._done(lambda: store.remove(wanted))

    def _change(self, placed: PlacedAnnotation, label: str, **new: object) -> None:
        store = self._store
        if store is None:
            return
        try:
            mark = replace(placed.mark, **new)  # type: ignore[arg-type]
        except AnnotationError as problem:
            self._message.value = str(problem)
            return
        self._done(lambda: store.change(placed.number, mark, label))

    def _done(self, act: Callable[[], object]) -> bool:
        """Do it, read everything again, and tell; False and a sentence when it failed."""
        try:
            act()
        except (ValueError, OSError) as problem:
            self._message.value = f"The mark was not kept: {problem}"
            return False
        self._read()
        self._tell()
        self.kept.notify()
        return True

    def _read(self) -> None:
        assert self._store is not None
        try:
            found = self._store.read()
        except (ValueError, OSError) as problem:
            self._message.value = f"The marks on the plots were not read: {problem}"
            found = []
        self._marks = {one.number: one for one in found}

    def _tell(self) -> None:
        if self.get(self.chosen.value) is None:
            self.chosen.value = None
        self.changed.notify()
