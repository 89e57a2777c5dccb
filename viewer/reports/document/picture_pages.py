"""Pictures of faults in documents: those of a string on its page, and a list of all of them."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from viewer.analysis.results.trace_result import TraceResult
from viewer.reports.document.content import (
    Block,
    Column,
    Document,
    PictureBlock,
    PrintedPicture,
    Section,
    TableBlock,
)
from viewer.site_data.pictures import Picture, PicturePlace
from viewer.site_data.text_catalogue import texts


@dataclass(frozen=True)
class SortedPictures:
    """Which picture is printed where: by the source of a trace, or with the site as a whole."""

    by_trace: Mapping[str, tuple[Picture, ...]] = field(default_factory=dict)
    of_site: tuple[Picture, ...] = ()


def sorted_pictures(
    pictures: Sequence[Picture], printed: Sequence[TraceResult], visit: str | None
) -> SortedPictures:
    """`printed`: the results of the visit that a document is about, `visit` its name.

    A picture of a string without a trace of its own lies with that string's trace of the visit.
    """
    by_trace: dict[str, list[Picture]] = defaultdict(list)
    of_site: list[Picture] = []
    for one in pictures:
        place = one.place
        if place.trace:
            by_trace[place.trace].append(one)
        elif place.visit and place.visit != visit:
            continue
        elif place.string:
            for trace in _traces_of(place, printed):
                by_trace[trace].append(one)
        else:
            of_site.append(one)
    return SortedPictures({key: tuple(found) for key, found in by_trace.items()}, tuple(of_site))


def _traces_of(place: PicturePlace, printed: Sequence[TraceResult]) -> list[str]:
    names = place.combiner, place.string
    found = (r.trace for r in printed)
    return [one.source for one in found if (one.combiner or "", one.string or "") == names]


def printed_picture(
    picture: Picture, load: Callable[[Picture], bytes], language: str
) -> PrintedPicture:
    """With its caption: kind, day, what it shows, and the name of the file."""
    words = texts(language)["pictures"]
    text = words["caption"].format(
        kind=words[picture.kind],
        day=words["taken" if picture.taken_at else "added"].format(day=picture.day),
        shows=f": {picture.caption.rstrip('.')}" if picture.caption else "",
        file=picture.file_name,
    )
    return PrintedPicture(text, lambda: load(picture))


def with_pictures(
    document: Document, pictures: Sequence[Picture], of_site: Sequence[PrintedPicture]
) -> Document:
    """The document with a list of all pictures before its last section, the method."""
    if not pictures:
        return document
    words, heads = (texts(document.details.language)[key] for key in ("pictures", "columns"))
    blocks: list[Block] = [PictureBlock(tuple(of_site))] if of_site else []
    blocks.append(_listed(pictures, words, heads))
    section = Section(words["heading"], tuple(blocks))
    *before, last = document.sections
    return replace(document, sections=(*before, section, last))


def _listed(
    pictures: Sequence[Picture], words: Mapping[str, str], heads: Mapping[str, str]
) -> TableBlock:
    columns = (
        Column(heads["file"], share=1.5, as_entered=True),
        Column(heads["about"], share=1.5, as_entered=True),
        Column(heads["day"], share=1.1, as_entered=True),
        Column(heads["kind"], share=1.1),
        Column(heads["shows"], share=1.6, as_entered=True),
        Column(heads["sha256"], share=2.9, as_entered=True),
    )
    rows = tuple(
        (one.file_name, _about(one, words), one.day, words[one.kind], one.caption, one.sha256)
        for one in pictures
    )
    return TableBlock(words["heading"], columns, rows, words["note"], headed=False)


def _about(picture: Picture, words: Mapping[str, str]) -> str:
    place = picture.place
    string = " ".join(one for one in (place.combiner, place.string) if one)
    return string or place.trace or place.visit or words["site"]
