"""A site: its module types, its combiners and their strings."""

from dataclasses import dataclass
from functools import cached_property

from viewer.site_data.datasheet import Datasheet


@dataclass(frozen=True)
class Location:
    """Latitude [degrees north], longitude [degrees east], altitude [m], IANA time zone."""

    latitude: float
    longitude: float
    altitude: float = 0.0
    timezone: str | None = None


@dataclass(frozen=True)
class Mounting:
    """How the modules are held (table `[mounting]` of site.toml; needed for incidence).

    Fixed: `tilt` from horizontal and `azimuth` the modules face, clockwise from north [degrees].
    Single-axis tracker (`tracking` true): tilt and azimuth of the axis, the largest rotation
    either way [degrees] and the ground coverage ratio used for backtracking.
    """

    tilt: float
    azimuth: float
    tracking: bool = False
    max_angle: float = 60.0
    ground_coverage_ratio: float = 0.4


@dataclass(frozen=True)
class StringLayout:
    """One string as traced: `strings_in_parallel` above 1 when a harness is traced as one."""

    name: str
    module: str
    """Key of its datasheet in `SiteLayout.modules`."""
    modules_in_series: int
    strings_in_parallel: int = 1
    cable_length: float = 0.0
    """Cable between each string and where it is traced, one way [m]; 0 leaves it out."""
    cable_cross_section: float = 0.0
    """Of each of its two conductors [mm²]."""
    cable_material: str = "copper"


@dataclass(frozen=True)
class Combiner:
    name: str
    strings: tuple[StringLayout, ...]


@dataclass(frozen=True)
class SiteLayout:
    name: str
    modules: dict[str, Datasheet]
    combiners: tuple[Combiner, ...]
    location: Location | None = None
    mounting: Mounting | None = None

    @cached_property
    def _strings(self) -> dict[tuple[str, str], StringLayout]:
        """Every string by combiner and name; of two alike the first, as in the file."""
        pairs = [((box.name, one.name), one) for box in self.combiners for one in box.strings]
        return dict(reversed(pairs))

    def string(self, combiner: str | None, string: str | None) -> StringLayout | None:
        """The string of that name under that combiner, or None."""
        if combiner is None or string is None:
            return None
        return self._strings.get((combiner, string))
