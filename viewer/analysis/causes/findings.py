"""Signatures and candidate causes of the traces of one group, each seen beside its neighbours."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from viewer.analysis.causes.broken_off import NOTHING_TOLD, STEPS_ALONE, steps_seen
from viewer.analysis.causes.cause_context import CauseContext
from viewer.analysis.causes.causes import rank_causes
from viewer.analysis.causes.field_notes import says_mended
from viewer.analysis.causes.neighbours import (
    NeighbourEvidence,
    StringDeviation,
    deviation_of,
    neighbour_evidences,
)
from viewer.analysis.causes.open_strings import (
    open_strings,
    said_of_current,
    traced_as_one,
    without_current,
)
from viewer.analysis.causes.other_combiners import own_of_combiners
from viewer.analysis.causes.repeat_traces import same_stairs_elsewhen
from viewer.analysis.causes.second_look import beside_neighbours
from viewer.analysis.causes.shared_voltage import with_shared_voltage
from viewer.analysis.causes.trace_reading import (
    NO_CURRENT,
    TraceReading,
    read_by_shape,
    read_traces,
    voltage_per_kelvin,
)
from viewer.analysis.prediction.prediction import Prediction
from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.prediction.uncertainty_budget import DEFAULT_INPUTS
from viewer.analysis.results.trace_result import IRRADIANCE_DRIFT, CandidateCause, Signature
from viewer.analysis.signatures.signature_reading import SignatureReading
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.site_layout import SiteLayout


@dataclass(frozen=True, eq=False)
class Findings:
    """What one trace shows and what may have produced it."""

    signatures: tuple[Signature, ...] = ()
    candidate_causes: tuple[CandidateCause, ...] = ()
    reading: SignatureReading | None = None
    missing: tuple[str, ...] = ()
    """One sentence for each thing that the sweep could not tell."""


def find(
    prepared: Sequence[Prepared],
    predictions: Sequence[Prediction | None],
    neighbourhoods: Sequence[int],
    layout: SiteLayout,
    visits: Sequence[int] | None = None,
    inputs: InputUncertainties = DEFAULT_INPUTS,
) -> list[Findings]:
    """Findings in the order of the traces; where nothing is predicted, what the shape shows.

    Traces with the same number in `neighbourhoods` are neighbours: of one combiner, one visit.
    Those with the same number in `visits` are of other combiners of the visit; without it none are.
    `inputs` tells how well their irradiance and temperature are known.
    """
    read = read_traces(prepared, predictions, layout, inputs)
    readings = [one.reading for one in read]
    evidence = _evidence(prepared, readings, neighbourhoods, visits or neighbourhoods)
    repeated = _repeated(prepared, readings, neighbourhoods)
    found: list[Findings] = []
    for place, (one, trace) in enumerate(zip(prepared, read, strict=True)):
        if not math.isfinite(one.measured.values.v_oc) and not _is_dead(one, trace, layout):
            found.append(_broken_off(one, trace.reading))
        elif trace.unread:
            found.append(_unread(trace.unread, predictions[place]))
        elif trace.reading is None:
            found.append(_by_shape(one, layout))
        else:
            beside = evidence.get(place), repeated.get(place)
            found.append(_findings(one, trace.reading, *beside, layout))
    return found


def _is_dead(one: Prepared, trace: TraceReading, layout: SiteLayout) -> bool:
    """Whether there is no open-circuit voltage because there is no current."""
    predicted = bool(trace.unread) or trace.reading is not None
    return (trace if predicted else read_by_shape(one, layout)).unread == NO_CURRENT


def _broken_off(one: Prepared, reading: SignatureReading | None) -> Findings:
    shown = steps_seen(one, reading)
    if shown is None:
        return Findings(missing=(NOTHING_TOLD,))
    causes = rank_causes(shown, CauseContext(note=one.trace.note))
    missing = (STEPS_ALONE, *traced_as_one(shown, _strings(one)))
    return Findings(shown.signatures, causes, shown, missing)


def _unread(why: str, prediction: Prediction | None) -> Findings:
    """Of a trace whose shape was not read, which is a finding only where there is no current."""
    if why != NO_CURRENT or prediction is None:
        return Findings(missing=(why,))
    signature, cause = without_current(prediction.key_points)
    return Findings((signature,), (cause,), missing=(why,))


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
    if one.string is not None and neighbours is not None:
        per_kelvin = voltage_per_kelvin(one, layout.modules[one.string.module])
        reading, neighbours = with_shared_voltage(reading, neighbours, per_kelvin)
        reading = beside_neighbours(reading, neighbours, per_kelvin)
    strings = _strings(one)
    opened = open_strings(reading, strings)
    if opened is not None:
        reading = said_of_current(reading, opened)
    context = CauseContext(
        neighbours=neighbours,
        note=one.trace.note,
        same_stairs=same_stairs,
        irradiance_unsteady=_failed(one, IRRADIANCE_DRIFT),
        curve_decides=one.conditions.curve_decides,
        rear_unknown=one.conditions.rear_unknown,
        open_strings=opened,
    )
    causes = rank_causes(reading, context)
    return Findings(reading.signatures, causes, reading, traced_as_one(reading, strings))


def _by_shape(one: Prepared, layout: SiteLayout) -> Findings:
    """Stairs of a trace without a prediction; nothing is said of one that shows none."""
    found = read_by_shape(one, layout)
    reading = found.reading
    if reading is None:
        return Findings(missing=(found.unread,))
    if not reading.signatures:
        return Findings(missing=reading.remarks)
    causes = rank_causes(reading, CauseContext(note=one.trace.note))
    missing = (*reading.remarks, *traced_as_one(reading, _strings(one)))
    return Findings(reading.signatures, causes, reading, missing)


def _strings(one: Prepared) -> int:
    """How many were traced as one, as far as is listed."""
    return one.string.strings_in_parallel if one.string is not None else 1


def _failed(one: Prepared, name: str) -> bool:
    return any(check.check == name and not check.passed for check in one.conditions.checks)
