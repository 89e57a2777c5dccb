"""Signatures and candidate causes of the traces of one group, each seen beside its neighbours."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.field_notes import says_mended
from viewer.analysis.causes.neighbours import (
    NeighbourEvidence,
    StringDeviation,
    deviation_of,
    neighbour_evidences,
)
from viewer.analysis.causes.other_combiners import own_of_combiners
from viewer.analysis.causes.repeat_traces import same_stairs_elsewhen
from viewer.analysis.causes.second_look import beside_neighbours
from viewer.analysis.prediction.prediction import Prediction
from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.results.trace_result import IRRADIANCE_DRIFT, CandidateCause, Signature
from viewer.analysis.signatures.curve_alone import read_without_prediction
from viewer.analysis.signatures.signature_reading import InputUncertainty, SignatureReading
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures
from viewer.physics.conditions import TEMPERATURE_REF
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import SiteLayout, StringLayout

COEFFICIENT = 1.0e-4
"""Standard uncertainty of a datasheet's coefficient of voltage, 1/K, which is rounded and that of a
type (judgement)."""


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
    visits: Sequence[int] | None = None,
) -> list[Findings]:
    """Findings in the order of the traces; where nothing is predicted, what the shape shows.

    Traces with the same number in `neighbourhoods` are neighbours: of one combiner, one visit.
    Those with the same number in `visits` are of other combiners of the visit; without it none are.
    """
    readings = _read(prepared, predictions, layout)
    evidence = _evidence(prepared, readings, neighbourhoods, visits or neighbourhoods)
    repeated = _repeated(prepared, readings, neighbourhoods)
    return [
        _findings(one, reading, evidence.get(place), repeated.get(place), layout)
        if reading is not None
        else _by_shape(one, layout)
        for place, (one, reading) in enumerate(zip(prepared, readings, strict=True))
    ]


def _evidence(
    prepared: Sequence[Prepared],
    readings: Sequence[SignatureReading | None],
    neighbourhoods: Sequence[int],
    visits: Sequence[int],
) -> dict[int, NeighbourEvidence]:
    """What the neighbours of each trace show, by the trace's place; none where it is alone."""
    together: dict[int, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    deviations: dict[int, StringDeviation] = {}
    for place, (one, reading) in enumerate(zip(prepared, readings, strict=True)):
        if reading is not None:
            together[visits[place]][neighbourhoods[place]].append(place)
            trace, temperature = one.trace, one.conditions.temperature_cell
            deviations[place] = deviation_of(
                reading, trace.string or trace.source, trace.measured_at, temperature
            )
    evidence: dict[int, NeighbourEvidence] = {}
    for combiners in together.values():
        strings = [[deviations[place] for place in places] for places in combiners.values()]
        for places, own in zip(combiners.values(), own_of_combiners(strings), strict=True):
            if len(places) > 1:
                of_each = neighbour_evidences([deviations[place] for place in places], own)
                evidence |= zip(places, of_each, strict=True)
    return evidence


def _repeated(
    prepared: Sequence[Prepared],
    readings: Sequence[SignatureReading | None],
    neighbourhoods: Sequence[int],
) -> dict[int, bool | None]:
    """Whether a string's other trace of the day shows the same stairs, by the trace's place."""
    of_string: dict[tuple[int, str | None], list[int]] = defaultdict(list)
    for place, (one, neighbourhood) in enumerate(zip(prepared, neighbourhoods, strict=True)):
        if readings[place] is not None and one.trace.string:
            of_string[neighbourhood, one.trace.string].append(place)
    repeated: dict[int, bool | None] = {}
    for places in of_string.values():
        if len(places) > 1:
            known = [reading for k in places if (reading := readings[k]) is not None]
            traces = [prepared[k].trace for k in places]
            moments = [trace.measured_at for trace in traces]
            mended = [bool(says_mended(trace.note)) for trace in traces]
            repeated |= zip(places, same_stairs_elsewhen(known, moments, mended), strict=True)
    return repeated


def _findings(
    one: Prepared,
    reading: SignatureReading,
    neighbours: NeighbourEvidence | None,
    same_stairs: bool | None,
    layout: SiteLayout,
) -> Findings:
    context = CauseContext(
        neighbours=neighbours,
        note=one.trace.note,
        same_stairs=same_stairs,
        irradiance_unsteady=_failed(one, IRRADIANCE_DRIFT),
        curve_decides=one.conditions.curve_decides,
        rear_unknown=one.conditions.rear_unknown,
    )
    if one.string is not None:
        per_kelvin = _voltage_per_kelvin(one, layout.modules[one.string.module])
        reading = beside_neighbours(reading, neighbours, per_kelvin)
    return Findings(reading.signatures, rank_causes(reading, context), reading)


def _by_shape(one: Prepared, layout: SiteLayout) -> Findings:
    """Stairs of a trace without a prediction; nothing is said of one that shows none."""
    datasheet = layout.modules.get(one.string.module) if one.string else None
    groups = None
    if one.string is not None and datasheet is not None:
        groups = one.string.modules_in_series * _diodes(datasheet)
    try:
        reading = read_without_prediction(
            one.swept.voltage,
            one.swept.current,
            one.measured.values,
            groups,
            bypass_diodes=_diodes(datasheet) if datasheet else 3,
            parallel_paths=datasheet.parallel_paths if datasheet else 1,
        )
    except ValueError:
        return Findings()
    if not reading.signatures:
        return Findings()
    context = CauseContext(note=one.trace.note)
    return Findings(reading.signatures, rank_causes(reading, context), reading)


def _failed(one: Prepared, name: str) -> bool:
    return any(check.check == name and not check.passed for check in one.conditions.checks)


def _read(
    prepared: Sequence[Prepared], predictions: Sequence[Prediction | None], layout: SiteLayout
) -> list[SignatureReading | None]:
    """The signatures of each trace; None where nothing is predicted."""
    given = {
        place: _to_read(one, one.string, prediction, layout.modules[one.string.module])
        for place, (one, prediction) in enumerate(zip(prepared, predictions, strict=True))
        if prediction is not None and one.string is not None
    }
    readings: list[SignatureReading | None] = [None] * len(prepared)
    for place, reading in zip(given, read_signatures(list(given.values())), strict=True):
        readings[place] = reading
    return readings


def _to_read(
    one: Prepared, string: StringLayout, prediction: Prediction, datasheet: Datasheet
) -> SweepToRead:
    return SweepToRead(
        one.swept.voltage,
        one.swept.current,
        one.measured.values,
        prediction.parameters,
        string.modules_in_series * _diodes(datasheet),
        bypass_diodes=_diodes(datasheet),
        parallel_paths=datasheet.parallel_paths,
        uncertainty=InputUncertainty(
            voltage_per_kelvin=_voltage_per_kelvin(one, datasheet),
            prediction_voltage=_prediction_voltage(one),
        ),
        predicted_p_mp=prediction.key_points.p_mp,
        irradiance=one.conditions.effective_irradiance or one.conditions.poa_global,
    )


def _diodes(datasheet: Datasheet) -> int:
    return max(1, datasheet.bypass_diodes)


def _prediction_voltage(one: Prepared) -> float:
    """Relative uncertainty of the predicted open-circuit voltage at the trace's temperature."""
    temperature = one.conditions.temperature_cell
    away = 0.0 if temperature is None else temperature - TEMPERATURE_REF
    return math.hypot(InputUncertainty.prediction_voltage, COEFFICIENT * away)


def _voltage_per_kelvin(one: Prepared, datasheet: Datasheet) -> float:
    """Relative change of open-circuit voltage at the trace's temperature, 1/K."""
    at_standard = datasheet.beta_voc / 100.0
    temperature = one.conditions.temperature_cell
    if temperature is None:
        return at_standard
    return at_standard / (1.0 + at_standard * (temperature - TEMPERATURE_REF))
