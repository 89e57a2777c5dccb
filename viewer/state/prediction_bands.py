"""The band that its uncertainty allows around the current trace's predicted curve."""

from collections.abc import Mapping

from viewer.analysis.site_models import site_models
from viewer.analysis.string_cable import string_cable_resistance
from viewer.analysis.trace_result import TraceResult
from viewer.physics.module_model import ModuleModel
from viewer.physics.prediction_band import BandCase, PredictionBand, prediction_band
from viewer.physics.uncertainty import InputUncertainties
from viewer.site_data.site_layout import SiteLayout

USUAL = InputUncertainties()


class PredictionBands:
    """Bands of the traces of one layout, each made when first asked for."""

    def __init__(self) -> None:
        self._layout: SiteLayout | None = None
        self._inputs = USUAL
        self._models: Mapping[str, ModuleModel] = {}
        self._bands: dict[str, PredictionBand] = {}

    def of(
        self,
        result: TraceResult,
        layout: SiteLayout | None,
        inputs: InputUncertainties = USUAL,
    ) -> PredictionBand | None:
        """The band, or None where nothing is predicted."""
        if layout is None or result.predicted is None:
            return None
        if layout is not self._layout or inputs != self._inputs:
            self._inputs = inputs
            self._layout, self._models = layout, site_models(layout.modules).models
            self._bands = {}
        key = result.trace.source
        if key not in self._bands:
            case = self._case(result, layout)
            if case is None:
                return None
            self._bands[key] = prediction_band(case, inputs)
        return self._bands[key]

    def _case(self, result: TraceResult, layout: SiteLayout) -> BandCase | None:
        string = layout.string(result.trace.combiner, result.trace.string)
        used = result.conditions
        irradiance = used.effective_irradiance or used.poa_global
        if string is None or irradiance is None or used.temperature_cell is None:
            return None
        model = self._models.get(string.module)
        if model is None:
            return None
        return BandCase(
            model,
            irradiance,
            used.temperature_cell,
            string.modules_in_series,
            string.strings_in_parallel,
            string_cable_resistance(string, result.trace.conditions),
        )
