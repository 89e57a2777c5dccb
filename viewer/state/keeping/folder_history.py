"""Undo and redo for what an open folder keeps: its own small files, and what is chosen about it.

A step knows what stood in a file before and after, so that it can tell whether the file has been
changed elsewhere since; such a step is refused with a sentence instead of overwriting anything.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, TypeVar

from viewer.site_data.whole_file import write_whole
from viewer.state.program.notifier import Notifier, Value

T = TypeVar("T")


class Step(Protocol):
    @property
    def label(self) -> str: ...

    def turn(self, back: bool) -> None:
        """Take it back, or do it again. Raises ValueError or OSError with one sentence."""


@dataclass(frozen=True)
class FileStep:
    """A file of the folder before and after; None where there is no such file."""

    label: str
    file: Path
    before: bytes | None
    after: bytes | None

    def turn(self, back: bool) -> None:
        now, wanted = (self.after, self.before) if back else (self.before, self.after)
        if content_of(self.file) != now:
            raise ValueError(
                f"{self.file.name} has been changed since, perhaps in another window: "
                f'"{self.label}" was left as it is.'
            )
        put_content(self.file, wanted)


@dataclass(frozen=True, eq=False)
class ValueStep:
    """Something chosen for the open site, before and after."""

    label: str
    held: Value[Any]
    before: Any
    after: Any

    def turn(self, back: bool) -> None:
        self.held.value = self.before if back else self.after


class FolderHistory:
    """The steps of the folder that is open, since it was opened."""

    def __init__(self, message: Value[str]) -> None:
        self.changed = Notifier()
        """There is another step to take back or to do again."""
        self.turned = Notifier()
        """A step was taken back or done again; passes the file it changed, or None."""
        self._message = message
        self._done: list[Step] = []
        self._undone: list[Step] = []
        self._turning = False
        self._watched: list[_Watched] = []

    @property
    def undo_label(self) -> str | None:
        return self._done[-1].label if self._done else None

    @property
    def redo_label(self) -> str | None:
        return self._undone[-1].label if self._undone else None

    def forget(self) -> None:
        """Something else is open."""
        self._done.clear()
        self._undone.clear()
        self.changed.notify()

    def did(self, step: Step) -> None:
        """A step was done just now; what had been taken back can't be done again."""
        if self._turning:
            return
        self._done.append(step)
        self._undone.clear()
        self.changed.notify()

    def change_file(self, label: str, file: Path, change: Callable[[], T]) -> T:
        """Make a change of a file and keep it as a step; what the change gives, or raises."""
        before = content_of(file)
        given = change()
        after = content_of(file)
        if before != after:
            self.did(FileStep(label, file, before, after))
        return given

    def watch(self, held: Value[Any], label: str, when: Callable[[], bool]) -> None:
        """Every change of the value is a step from now on, while `when` says so."""
        self._watched.append(_Watched(self, held, label, when))

    def undo(self) -> None:
        """Take the last step back and say so."""
        self._turn(self._done, self._undone, True, "There is nothing to take back.", "Taken back")

    def redo(self) -> None:
        """Do again what was taken back last, and say so."""
        self._turn(self._undone, self._done, False, "There is nothing to do again.", "Done again")

    def _turn(
        self, here: list[Step], there: list[Step], back: bool, nothing: str, done: str
    ) -> None:
        if not here:
            self._message.value = nothing
            return
        step = here[-1]
        self._turning = True
        try:
            step.turn(back)
        except (ValueError, OSError) as problem:
            self._message.value = str(problem)
            return
        finally:
            self._turning = False
        there.append(here.pop())
        self._message.value = f"{done}: {step.label}."
        self.turned.notify(step.file if isinstance(step, FileStep) else None)
        self.changed.notify()


class _Watched:
    """Remembers the value before each change."""

    def __init__(
        self, history: FolderHistory, held: Value[Any], label: str, when: Callable[[], bool]
    ) -> None:
        self._history, self._held, self._label, self._when = history, held, label, when
        self._before = held.value
        held.changed.connect(self._changed)

    def _changed(self, after: Any) -> None:
        before, self._before = self._before, after
        if self._when():
            self._history.did(ValueStep(self._label, self._held, before, after))


def content_of(file: Path) -> bytes | None:
    """What stands in a file; None where there is none. Raises OSError."""
    try:
        return file.read_bytes()
    except FileNotFoundError:
        return None


def put_content(file: Path, content: bytes | None) -> None:
    """Write it in one move, or take the file away. Raises OSError."""
    if content is None:
        file.unlink(missing_ok=True)
        return
    write_whole(file, content)
