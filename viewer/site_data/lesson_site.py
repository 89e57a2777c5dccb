"""The invented modules and strings that lessons and simulated exercises start from."""

from functools import cache

from viewer.site_data.resource_folder import resource_folder
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.site_toml import read_site_toml


@cache
def lesson_site() -> SiteLayout:
    """The layout in resources/lessons. Raises ValueError where that file is damaged."""
    described = read_site_toml(resource_folder() / "lessons" / "site.toml")
    if described.problems:
        raise ValueError(" ".join(described.problems))
    return described.layout
