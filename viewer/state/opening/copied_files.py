"""Files of a visit that hold the same bytes: each is a trace, so that a string may count twice."""

from collections import defaultdict
from collections.abc import Iterable

from viewer.analysis.results.trace_result import TraceResult
from viewer.reading.trace_files import natural_key

TOLD_OF = 10
"""Copies that are named one by one."""


class CopiedFiles:
    """Collects the SHA-256 of what was read, file by file."""

    def __init__(self) -> None:
        self._files: dict[str, set[str]] = defaultdict(set)

    def take(self, results: Iterable[TraceResult]) -> None:
        for one in results:
            if one.trace.sha256:
                self._files[one.trace.sha256].add(one.trace.source.partition("#")[0])

    def remarks(self) -> tuple[str, ...]:
        """One sentence for each of the first files that have copies."""
        groups = [sorted(files, key=natural_key) for files in self._files.values()]
        found = sorted((one for one in groups if len(one) > 1), key=lambda one: natural_key(one[0]))
        said = tuple(
            f"{first} and {', '.join(others)} hold the same bytes: take away the copies, or the "
            "string counts more than once."
            for first, *others in found[:TOLD_OF]
        )
        more = len(found) - TOLD_OF
        return (*said, f"{more} more files have copies.") if more > 0 else said
