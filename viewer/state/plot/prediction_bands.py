"""The band that its uncertainty allows around the current trace's predicted curve."""

from viewer.analysis.prediction.string_cable import string_cable_resistance
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.uncertainty.prediction_band import BandCase, PredictionBand, prediction_band
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.site_layout import SiteLayout
from viewer.state.opening.module_fits import ModuleFits

USUAL = InputUncertainties()


class PredictionBands:
    """Bands of the traces of one layout, each made when first asked for."""

    def __init__(self) -> None:
        self._layout: SiteLayout | None = None
        self._inputs = USUAL
        self._fits = ModuleFits()
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
            self._layout, self._inputs = layout, inputs
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
        fit = self._fits.of(layout, string.module)
        if fit is None or fit.model is None:
            return None
        return BandCase(
            fit.model,
            irradiance,
            used.temperature_cell,
            string.modules_in_series,
            string.strings_in_parallel,
            string_cable_resistance(string, result.trace.conditions),
        )
