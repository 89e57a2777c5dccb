"""Files of a visit that hold the same bytes: one sweep, which counts once.

Counted twice, a string would speak for itself as its own neighbour and weigh double in every
mean. Of the copies that one stays whose string the layout knows; of several the one that is named
after its string, then the one with the shortest path, for copies get longer names.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Protocol, TypeVar

from viewer.physics.nomenclature import counted
from viewer.reading.trace_files import natural_key
from viewer.site_data.site_layout import SiteLayout

TOLD_OF = 10
"""Copies that are named one by one."""


class OfAFile(Protocol):
    """What is looked at of a trace, or of what stands for it."""

    @property
    def source(self) -> str: ...
    @property
    def combiner(self) -> str | None: ...
    @property
    def string(self) -> str | None: ...
    @property
    def sha256(self) -> str | None: ...


One = TypeVar("One", bound=OfAFile)


def counted_once(traces: Sequence[One], layout: SiteLayout) -> tuple[list[One], tuple[str, ...]]:
    """The traces without those of copied files, in their order, and a sentence on each copied file.

    A trace whose bytes are not known is no copy.
    """
    files: dict[str, dict[str, list[One]]] = defaultdict(lambda: defaultdict(list))
    for one in traces:
        if one.sha256 is not None:
            files[one.sha256][_file(one)].append(one)
    copied = [group for group in files.values() if len(group) > 1]
    if not copied:
        return list(traces), ()
    ranked = [sorted(group, key=lambda file: _rank(file, group[file], layout)) for group in copied]
    left_out = {file for _, *others in ranked for file in others}
    said = sorted(
        (natural_key(first), _sentence(first, others, group))
        for (first, *others), group in zip(ranked, copied, strict=True)
    )
    more = len(said) - TOLD_OF
    remarks = tuple(sentence for _, sentence in said[:TOLD_OF])
    if more > 0:
        remarks += (f"{counted(more, 'more file')} with copies, of which one each is counted.",)
    return [one for one in traces if _file(one) not in left_out], remarks


def _file(one: OfAFile) -> str:
    return one.source.partition("#")[0]


def _rank(file: str, traces: Sequence[OfAFile], layout: SiteLayout) -> tuple[object, ...]:
    known = any(layout.string(one.combiner, one.string) is not None for one in traces)
    name = file.rpartition("/")[2].rpartition(".")[0]
    named_after = any(one.string == name for one in traces)
    return not known, not named_after, len(file), natural_key(file)


def _sentence(first: str, others: Sequence[str], group: Mapping[str, Sequence[OfAFile]]) -> str:
    names = [{(one.combiner, one.string) for one in group[file]} for file in (first, *others)]
    sentence = (
        f"{first} and {', '.join(sorted(others, key=natural_key))} hold the same bytes: only "
        f"{first} is counted"
    )
    if all(one == names[0] for one in names):
        return f"{sentence}."
    return f"{sentence}, though by their names they are of different strings: look which it is of."
