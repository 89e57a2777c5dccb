"""Where resources/ and example_traces/ lie: the one place that knows.

In an installed wheel both lie inside the package; in a checkout they lie beside it.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def _beside_or_inside(name: str) -> Path:
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(
        f"the folder {name}, which comes with curvewright, is missing: install it again"
    )


def resource_folder() -> Path:
    """The folder of icons, texts, templates and scenarios."""
    return _beside_or_inside("resources")


def example_folder() -> Path:
    """The visit folder of the invented example site."""
    return _beside_or_inside("example_traces")
