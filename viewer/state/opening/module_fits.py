"""The models of a site's module types for panes that ask for one string at a time."""

from viewer.analysis.prediction.site_models import fit_datasheet
from viewer.physics.datasheet.datasheet_fit import ModuleFit
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import SiteLayout


class ModuleFits:
    """Each type is fitted when first asked for: the window waits for one, not for all of the
    site's. A fit is kept as long as the datasheet says the same, also from site to site."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[Datasheet, ModuleFit]] = {}

    def of(self, layout: SiteLayout, module: str) -> ModuleFit | None:
        """The fit of the module type of that key; None where the site does not list it."""
        datasheet = layout.modules.get(module)
        if datasheet is None:
            return None
        known = self._known.get(module)
        if known is None or known[0] != datasheet:
            known = self._known[module] = datasheet, fit_datasheet(datasheet)
        return known[1]
