"""Signatures and candidate causes of the traces of one group, each seen beside its neighbours."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from viewer.analysis.causes import CauseContext, rank_causes
from viewer.analysis.neighbours import StringDeviation, deviation_of, neighbour_evidence
from viewer.analysis.prediction import Prediction
from viewer.analysis.preparation import Prepared
from viewer.analysis.signature_reading import InputUncertainty, SignatureReading
from viewer.analysis.signatures import read_signatures
from viewer.analysis.trace_result import CandidateCause, Signature
from viewer.physics.conditions import TEMPERATURE_REF
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import SiteLayout

IRRADIANCE_CHECK = "irradiance drift"
TEMPERATURE_CHECK = "cell temperature against Voc"


@dataclass(frozen=True, eq=False)
class Findings:
    """What one trace shows and what may have produced it."""

    signatures: tuple[Signature, ...] = ()
    candidate_causes: tuple[CandidateCause, ...] = ()
    reading: SignatureReading | None = None


def find(
    prepared: Sequence[Prepared],
    predictions: Sequence[Prediction | None],
    neighbourhoods: Sequence[int],
    layout: SiteLayout,
) -> list[Findings]:
    """Findings in the order of the traces; empty where nothing is predicted.

    Traces with the same number in `neighbourhoods` are neighbours: of one combiner, one visit.
    """
    readings = [
        _read(one, prediction, layout)
        for one, prediction in zip(prepared, predictions, strict=True)
    ]
    deviations: dict[int, list[StringDeviation]] = defaultdict(list)
    for one, reading, place in zip(prepared, readings, neighbourhoods, strict=True):
        if reading is not None:
            deviations[place].append(_deviation(one, reading))
    return [
        _findings(one, reading, deviations[place])
        for one, reading, place in zip(prepared, readings, neighbourhoods, strict=True)
    ]


def _deviation(one: Prepared, reading: SignatureReading) -> StringDeviation:
    return deviation_of(reading, one.trace.source, one.trace.measured_at)


def _findings(
    one: Prepared, reading: SignatureReading | None, deviations: Sequence[StringDeviation]
) -> Findings:
    if reading is None:
        return Findings()
    own = _deviation(one, reading)
    others = [other for other in deviations if other.string != own.string]
    context = CauseContext(
        neighbours=neighbour_evidence(own, others) if others else None,
        note=one.trace.note,
        irradiance_unsteady=_failed(one, IRRADIANCE_CHECK),
        temperature_doubtful=_failed(one, TEMPERATURE_CHECK),
    )
    return Findings(reading.signatures, rank_causes(reading, context), reading)


def _failed(one: Prepared, name: str) -> bool:
    return any(check.check == name and not check.passed for check in one.conditions.checks)


def _read(
    one: Prepared, prediction: Prediction | None, layout: SiteLayout
) -> SignatureReading | None:
    if prediction is None or one.string is None:
        return None
    datasheet = layout.modules[one.string.module]
    return read_signatures(
        one.swept.voltage,
        one.swept.current,
        one.measured.values,
        prediction.parameters,
        one.string.modules_in_series * _diodes(datasheet),
        bypass_diodes=_diodes(datasheet),
        parallel_paths=datasheet.parallel_paths,
        uncertainty=InputUncertainty(voltage_per_kelvin=_voltage_per_kelvin(one, datasheet)),
        predicted_p_mp=prediction.key_points.p_mp,
        irradiance=one.conditions.effective_irradiance or one.conditions.poa_global,
    )


def _diodes(datasheet: Datasheet) -> int:
    return max(1, datasheet.bypass_diodes)


def _voltage_per_kelvin(one: Prepared, datasheet: Datasheet) -> float:
    """Relative change of open-circuit voltage at the trace's temperature, 1/K."""
    at_standard = datasheet.beta_voc / 100.0
    temperature = one.conditions.temperature_cell
    if temperature is None:
        return at_standard
    return at_standard / (1.0 + at_standard * (temperature - TEMPERATURE_REF))
