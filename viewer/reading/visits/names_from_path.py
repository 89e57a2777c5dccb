"""Combiner and string from folder and file name, where a file itself does not say."""

from dataclasses import replace

from viewer.site_data.iv_trace import Trace
from viewer.site_data.site_layout import SiteLayout


def path_names(source: str, layout: SiteLayout | None = None) -> tuple[str | None, str]:
    """Combiner and string for a file at that path (forward slashes).

    The combiner is the nearest folder that the layout knows as one, else the nearest folder;
    the string is the file's name without its ending.
    """
    *folders, file = source.split("/")
    known = {box.name for box in layout.combiners} if layout is not None else set()
    named = next((part for part in reversed(folders) if part in known), None)
    nearest = folders[-1] if folders else None
    return named or nearest, file.rpartition(".")[0] or file


def with_path_names(trace: Trace, layout: SiteLayout | None = None) -> Trace:
    """The trace with the names that its file left open."""
    if trace.combiner is not None and trace.string is not None:
        return trace
    file, several, label = trace.source.partition("#")
    combiner, string = path_names(file, layout)
    return replace(
        trace,
        combiner=trace.combiner or combiner,
        string=trace.string or (label if several else string),
    )
