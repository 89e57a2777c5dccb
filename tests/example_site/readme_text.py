"""The README.md beside the invented traces, from the plan, so that the two cannot differ."""

from typing import Any

HEAD = """# An invented site

**Nothing here was measured.** There is no such place as {site}; its names, its
datasheets and its faults are made up, and every trace was computed (circuits solved by ngspice,
sun and temperature by pvlib, noise from a seeded generator). One combiner uses a module of
pvlib's public list by name; that says nothing about that maker's modules, and no fault of a
module was put there.

`site.toml` describes the site; each folder is one visit, {count} strings in {boxes} combiners.
To compute it all again: `python -m tests.example_site.write_site` (needs ngspice).

## What was put in

Strings not named here are healthy. In the second visit all have aged a little and are dusty
({dust}).

| String | Visits | What is the matter |
| --- | --- | --- |
"""


def readme_text(plan: dict[str, Any]) -> str:
    """The whole file: what is invented, how it was made, and the list of faults."""
    visits = [visit["folder"] for visit in plan["visit"]]
    dust = ", ".join(f"{box} {100 * x:.1f} %" for box, x in plan["visit"][-1]["soiling"].items())
    head = HEAD.format(
        site=plan["site"],
        count=sum(box["strings"] for box in plan["combiner"]),
        boxes=len(plan["combiner"]),
        dust=dust,
    )
    rows = [
        f"| {fault['string']} | {', '.join(visits[n - 1] for n in fault['visits'])} |"
        f" {fault['words']} |"
        for fault in plan["fault"]
    ]
    return head + "\n".join(rows) + "\n"
