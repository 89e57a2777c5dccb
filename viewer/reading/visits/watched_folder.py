"""A folder whose new files are found as they appear, by looking now and then."""

from dataclasses import dataclass, field
from pathlib import Path

from viewer.reading.trace_files import TraceFile, files_under


@dataclass
class WatchedFolder:
    """Call `new_files` at intervals; nothing runs in between.

    A file counts as finished once its size and time of change are the same at two looks, so
    that one still being copied is not read half. A file changed later is reported again.
    """

    path: Path
    skip_present: bool = True
    """Leave out what lies there at the first look."""
    _seen: dict[str, tuple[int, int]] = field(default_factory=dict, repr=False)
    _reported: dict[str, tuple[int, int]] = field(default_factory=dict, repr=False)
    _started: bool = field(default=False, repr=False)

    def new_files(self) -> list[TraceFile]:
        """Files that are new or changed since they were last reported, and finished.

        A folder that is not there (an unplugged card) holds nothing.
        """
        now = self._states()
        if not self._started:
            self._started = True
            if self.skip_present:
                self._reported = dict(now)
        found = [
            source
            for source, state in now.items()
            if self._seen.get(source) == state and self._reported.get(source) != state
        ]
        self._seen = now
        for source in found:
            self._reported[source] = now[source]
        return [TraceFile(self.path / source, source) for source in found]

    def _states(self) -> dict[str, tuple[int, int]]:
        states = {}
        for source in files_under(self.path) if self.path.is_dir() else []:
            try:
                status = (self.path / source).stat()
            except OSError:  # gone since it was listed
                continue
            states[source] = (status.st_size, status.st_mtime_ns)
        return states
