"""The traces of one visit that belong to the strings of traces from another."""

from collections.abc import Collection, Iterable

from viewer.state.strings.string_rows import StringRow


def same_strings(
    rows: Iterable[StringRow], chosen: Iterable[StringRow], ids: Collection[str]
) -> dict[str, str]:
    """Id of each chosen trace -> id among `ids` of its string's newest trace, where there is one.

    `rows` are all that are known. A trace that names no string has no other.
    """
    newest: dict[tuple[str, str], StringRow] = {}
    for row in rows:
        if row.trace_id in ids:
            place = row.combiner, row.string
            known = newest.get(place)
            if known is None or (row.day, row.time) >= (known.day, known.time):
                newest[place] = row
    found = ((one.trace_id, newest.get((one.combiner, one.string))) for one in chosen)
    return {trace_id: other.trace_id for trace_id, other in found if other is not None}
