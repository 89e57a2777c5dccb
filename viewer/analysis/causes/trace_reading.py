"""What the shape of each trace was read to show, or in one sentence why it could not be read."""

import logging
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from viewer.analysis.causes.open_strings import (
    LEAST_CURRENT,
    OpenStrings,
    open_strings,
    read_beside,
)
from viewer.analysis.prediction.prediction import Prediction
from viewer.analysis.prediction.preparation import Prepared
from viewer.analysis.prediction.uncertainty_budget import (
    DEFAULT_INPUTS,
    irradiance_by_source,
    temperature_by_source,
)
from viewer.analysis.signatures.curve_alone import read_without_prediction
from viewer.analysis.signatures.signature_reading import InputUncertainty, SignatureReading
from viewer.analysis.signatures.signatures import SweepToRead, read_signatures, why_unreadable
from viewer.physics.conditions import TEMPERATURE_REF
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import SiteLayout, StringLayout

log = logging.getLogger(__name__)

COEFFICIENT = 1.0e-4
"""Standard uncertainty of a datasheet's coefficient of voltage, 1/K, which is rounded and that of a
type (judgement)."""
BESIDE_IRRADIANCE = math.sqrt(
    InputUncertainty.irradiance**2 - float(DEFAULT_INPUTS.irradiance) ** 2
)
"""What the current of sound strings differs by beside the error of the irradiance's reading: their
datasheet, spectrum, angle of the light. With a sensor's usual error it makes the number that the
reading was tuned with."""
WEAKEST_LIGHT = 0.2
"""Of the datasheet's Isc: what is taken for predicted where the light was not read (judgement)."""
NO_CURRENT = "The string carries no current: open connector, fuse or switch."
DEFEATED = "No findings: the shape of the sweep defeats the mathematics; look at its points."


@dataclass(frozen=True, eq=False)
class TraceReading:
    """The reading of one trace, or the sentence that says why there is none; both may be missing
    where nothing is predicted."""

    reading: SignatureReading | None = None
    unread: str = ""


def read_traces(
    prepared: Sequence[Prepared],
    predictions: Sequence[Prediction | None],
    layout: SiteLayout,
    inputs: InputUncertainties = DEFAULT_INPUTS,
) -> list[TraceReading]:
    """The signatures of each trace, in order; without either text or reading where nothing is
    predicted. A sweep that cannot be read takes nothing from the others."""
    found = [TraceReading()] * len(prepared)
    given: dict[int, SweepToRead] = {}
    for place, (one, prediction) in enumerate(zip(prepared, predictions, strict=True)):
        if prediction is None or one.string is None:
            continue
        if unread := _why_unread(one, prediction):
            found[place] = TraceReading(unread=unread)
        else:
            datasheet = layout.modules[one.string.module]
            known = _uncertainty(one, datasheet, inputs)
            given[place] = _to_read(one, one.string, prediction, datasheet, known)
    for place, reading in zip(given, _read(list(given.values())), strict=True):
        found[place] = reading
    _read_beside_open_strings(found, given, prepared)
    return found


def _read_beside_open_strings(
    found: list[TraceReading], given: dict[int, SweepToRead], prepared: Sequence[Prepared]
) -> None:
    """Reads traces of several strings again against those that are likely to carry current.

    Against all of them the sum of fewer has too high a voltage and too much resistance.
    """
    opened: dict[int, OpenStrings] = {}
    for place in given:
        string, reading = prepared[place].string, found[place].reading
        if string is None or reading is None or string.strings_in_parallel < 2:
            continue
        told = open_strings(reading, string.strings_in_parallel)
        if told is not None and told.leads:
            opened[place] = told
    fewer = [
        replace(given[place], predicted=given[place].predicted.in_parallel(told.kept))
        for place, told in opened.items()
    ]
    for (place, told), again in zip(opened.items(), _read(fewer), strict=True):
        of_all, of_others = found[place].reading, again.reading
        if of_all is not None and of_others is not None:
            found[place] = TraceReading(read_beside(of_all, of_others, told))


def read_by_shape(one: Prepared, layout: SiteLayout) -> TraceReading:
    """What a trace without a prediction shows by its shape alone."""
    sheet = layout.modules.get(one.string.module) if one.string else None
    groups = None
    if one.string is not None and sheet is not None:
        if _is_dead(one, WEAKEST_LIGHT * sheet.i_sc * one.string.strings_in_parallel):
            return TraceReading(unread=NO_CURRENT)
        groups = one.string.modules_in_series * _groups(sheet)
    elif _is_dead(one, 0.0):
        return TraceReading(unread=NO_CURRENT)
    try:
        reading = read_without_prediction(
            one.swept.voltage,
            one.swept.current,
            one.measured.values,
            groups,
            bypass_diodes=sheet.bypass_diodes if sheet else 3,
            parallel_paths=sheet.parallel_paths if sheet else 1,
        )
    except ValueError as error:
        return TraceReading(unread=str(error))
    return TraceReading(reading)


def voltage_per_kelvin(one: Prepared, datasheet: Datasheet) -> float:
    """Relative change of open-circuit voltage at the trace's temperature, 1/K."""
    at_standard = datasheet.beta_voc / 100.0
    temperature = one.conditions.temperature_cell
    if temperature is None:
        return at_standard
    return at_standard / (1.0 + at_standard * (temperature - TEMPERATURE_REF))


def _why_unread(one: Prepared, prediction: Prediction) -> str:
    predicted = prediction.parameters
    unreadable = why_unreadable(one.swept.voltage.size, predicted)
    dead = not unreadable and _is_dead(one, float(predicted.photocurrent))
    return NO_CURRENT if dead else unreadable


def _is_dead(one: Prepared, expected: float) -> bool:
    """Whether no current flows but that of a stray reading; `expected` [A] is the predicted."""
    current = one.swept.current
    greatest = np.partition(current, current.size - 2)[current.size - 2]
    return bool(greatest <= LEAST_CURRENT * expected)


def _read(given: list[SweepToRead]) -> list[TraceReading]:
    """The readings; where the mathematics fails, of all but the sweep that it fails for."""
    try:
        return [TraceReading(reading) for reading in read_signatures(given)]
    except (ArithmeticError, ValueError):
        if len(given) == 1:
            log.debug("A sweep could not be read", exc_info=True)
            return [TraceReading(unread=DEFEATED)]
    half = len(given) // 2
    return _read(given[:half]) + _read(given[half:])


def _to_read(
    one: Prepared,
    string: StringLayout,
    prediction: Prediction,
    datasheet: Datasheet,
    known: InputUncertainty,
) -> SweepToRead:
    return SweepToRead(
        one.swept.voltage,
        one.swept.current,
        one.measured.values,
        prediction.parameters,
        string.modules_in_series * _groups(datasheet),
        bypass_diodes=datasheet.bypass_diodes,
        parallel_paths=datasheet.parallel_paths,
        uncertainty=known,
        predicted_p_mp=prediction.key_points.p_mp,
        irradiance=one.conditions.effective_irradiance or one.conditions.poa_global,
    )


def _uncertainty(
    one: Prepared, datasheet: Datasheet, inputs: InputUncertainties
) -> InputUncertainty:
    """How well the inputs of the prediction are known.

    An irradiance or a temperature that the curve itself gave cannot deviate from it. What the
    irradiance drifts by during the sweep is left to the causes.
    """
    used = one.conditions
    irradiance, temperature = InputUncertainty.irradiance, InputUncertainty.temperature
    if "poa_global" not in used.curve_decides:
        irradiance = math.hypot(BESIDE_IRRADIANCE, float(irradiance_by_source(used, inputs)))
    if "temperature_cell" not in used.curve_decides:
        temperature = float(temperature_by_source(used, inputs))
    return InputUncertainty(
        irradiance=irradiance,
        temperature=temperature,
        voltage_per_kelvin=voltage_per_kelvin(one, datasheet),
        prediction_voltage=_prediction_voltage(one),
    )


def _groups(datasheet: Datasheet) -> int:
    """Of one module, which without bypass diodes is one itself."""
    return max(1, datasheet.bypass_diodes)


def _prediction_voltage(one: Prepared) -> float:
    """Relative uncertainty of the predicted open-circuit voltage at the trace's temperature."""
    temperature = one.conditions.temperature_cell
    away = 0.0 if temperature is None else temperature - TEMPERATURE_REF
    return math.hypot(InputUncertainty.prediction_voltage, COEFFICIENT * away)
