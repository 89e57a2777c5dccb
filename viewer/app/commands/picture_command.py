"""`curvewright picture`: pictures of faults kept with a site; attach, list, remove."""

import argparse
from dataclasses import replace
from pathlib import Path

from viewer.app.commands import site_results as site
from viewer.app.commands.argument_types import whole
from viewer.app.commands.complaints import complain, sentence
from viewer.reading.visits.open_layout import open_layout
from viewer.reports.plain_table import aligned
from viewer.site_data.pictures import PICTURE_KINDS, Picture, PicturePlace, read_picture
from viewer.state.keeping.picture_store import PictureStore, pictures_at

HEADINGS = ("No", "Day", "Kind", "About", "Caption", "File", "SHA-256")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Keeps pictures of faults with a site: in its site file, or in the folder pictures beside "
        "site.toml. Reports print those of a string on its page, evidence packs hold the files. "
        "Without a FILE the pictures are listed."
    )
    site.add_source(parser)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE", help="pictures to attach")
    parser.add_argument("--string", metavar="COMBINER/STRING", help="what they show")
    parser.add_argument("--trace", metavar="PATH", default="", help="the trace they belong to")
    parser.add_argument("--visit", metavar="VISIT", default="", help="the visit they belong to")
    parser.add_argument("--kind", choices=PICTURE_KINDS, default=PICTURE_KINDS[0])
    parser.add_argument("--caption", metavar="TEXT", default="", help="printed under them")
    parser.add_argument(
        "--remove",
        type=whole,
        metavar="NUMBER",
        help="take that one off the list; its bytes are kept",
    )


def run(arguments: argparse.Namespace) -> int:
    try:
        source = Path(arguments.source)
        if not source.exists():
            raise ValueError(f"there is no folder or file {source}")
        store = pictures_at(source)
        if arguments.remove is not None:
            _remove(store, arguments.remove)
        elif arguments.files:
            _attach(store, source, arguments)
        else:
            _list(store)
    except (ValueError, OSError) as error:
        complain("picture", sentence(error))
        return 2
    return 0


def _attach(store: PictureStore, source: Path, arguments: argparse.Namespace) -> None:
    """All of them or, if one is not good, none."""
    place = PicturePlace(trace=arguments.trace, visit=arguments.visit)
    if arguments.string is not None:
        combiner, string = site.place(arguments.string, open_layout(source)[0])
        place = replace(place, combiner=combiner, string=string)
    if arguments.trace and source.is_dir() and not _is_there(source, arguments.trace):
        raise ValueError(f"{source} has no trace {arguments.trace}; write its path in the folder")
    told = {"kind": arguments.kind, "caption": arguments.caption.strip()}
    pictures = [replace(read_picture(file), **told) for file in arguments.files]
    store.add(pictures, place)
    known = store.read()
    for one in known[-len(pictures) :]:
        print(f"Picture {one.number} stored: {one.file_name}, SHA-256 {one.sha256}.")


def _is_there(folder: Path, trace: str) -> bool:
    """A trace of several in one file is named after "#"."""
    return any((folder / name).is_file() for name in (trace, trace.rpartition("#")[0]) if name)


def _remove(store: PictureStore, number: int) -> None:
    found = next((one for one in store.read() if one.number == number), None)
    if found is None:
        raise ValueError(f"there is no picture {number}; without a FILE they are listed")
    store.remove(found)
    print(f"Picture {number} removed: {found.file_name}.")


def _list(store: PictureStore) -> None:
    rows = [
        [
            str(one.number),
            one.day,
            one.kind,
            about_words(one),
            one.caption,
            one.file_name,
            one.sha256[:12],
        ]
        for one in store.read()
    ]
    if not rows:
        print("No picture is kept with this site.")
        return
    for line in aligned(HEADINGS, rows, {"No"}):
        print(line)


def about_words(picture: Picture) -> str:
    """What it belongs to, the nearest first."""
    place = picture.place
    string = "/".join(one for one in (place.combiner, place.string) if one)
    return place.trace or string or place.visit or "the site"
