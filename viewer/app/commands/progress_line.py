"""One line of progress on a terminal, rewritten in place; nothing where no one watches."""

import time
from types import TracebackType
from typing import Self, TextIO

from viewer.state.program.time_left import time_left

_SECONDS_BETWEEN = 0.1


class ProgressLine:
    """A context manager whose line is gone when it ends."""

    def __init__(self, stream: TextIO, enabled: bool = True) -> None:
        self._stream = stream
        self._on = enabled and stream.isatty()
        self._shown_at = 0.0
        self._started_at = time.monotonic()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        where: TracebackType | None,
    ) -> None:
        if self._on:
            self._stream.write("\r\x1b[K")
            self._stream.flush()

    def show(self, doing: str, done: int, total: int) -> None:
        """Say how far `doing` has come, at most ten times a second."""
        now = time.monotonic()
        if not self._on or (now - self._shown_at < _SECONDS_BETWEEN and done < total):
            return
        self._shown_at = now
        left = time_left(now - self._started_at, done, total)
        said = f"{doing}: {done} of {total}" + (f", {left}" if left else "")
        self._stream.write(f"\r\x1b[K{said}")
        self._stream.flush()
