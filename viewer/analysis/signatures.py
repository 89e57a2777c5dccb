"""What the shape of one sweep shows: its signatures, with sizes and what each costs."""

import numpy as np

from viewer.analysis.lost_groups import with_lost_groups
from viewer.analysis.reduced_string import Array, Reference, reference_of
from viewer.analysis.signature_choice import choose_explanation
from viewer.analysis.signature_fit import Sweep
from viewer.analysis.signature_reading import InputUncertainty, SignatureReading, Situation
from viewer.analysis.signature_sizes import SignatureSizes
from viewer.analysis.sweep_noise import sweep_noise
from viewer.analysis.usual_string import usual_string
from viewer.physics.key_points import KeyPoints
from viewer.physics.single_diode import DiodeParameters

FEWEST_POINTS = 8


def read_signatures(
    voltage: Array,
    current: Array,
    key_points: KeyPoints,
    predicted: DiodeParameters,
    bypass_groups: int,
    *,
    bypass_diodes: int = 3,
    parallel_paths: int = 1,
    uncertainty: InputUncertainty | None = None,
    predicted_p_mp: float | None = None,
    irradiance: float | None = None,
) -> SignatureReading:
    """Read the signatures of a clean sweep (voltage [V] rising, current [A], shape (n,)).

    `predicted` holds the whole string's five parameters (numbers) at the sweep's conditions;
    `bypass_groups` is modules in series times bypass diodes, `bypass_diodes` those of a module,
    `parallel_paths` 2 for half-cut modules; `predicted_p_mp` [W] is computed when not given;
    with the `irradiance` [W/m²] of the prediction voltage and resistance are read more sharply.
    Raises ValueError for fewer than 8 points or a prediction that is not finite.
    """
    known = Situation(
        key_points,
        uncertainty or InputUncertainty(),
        max(bypass_diodes, 1),
        parallel_paths,
        irradiance,
        predicted_p_mp,
    )
    groups = max(bypass_groups, 1)
    reference, sweep = prepare(voltage, current, predicted, groups)
    usual = usual_string(groups, known)
    choice = choose_explanation(reference, sweep, usual, parallel_paths)
    fit, lost = with_lost_groups(choice, known)
    return SignatureSizes(choice, fit, lost, known).reading()


def prepare(
    voltage: Array, current: Array, predicted: DiodeParameters, bypass_groups: int
) -> tuple[Reference, Sweep]:
    """The prediction and the sweep in the prediction's units."""
    if voltage.size < FEWEST_POINTS:
        raise ValueError(
            f"A sweep of {voltage.size} points is too short to read its shape; "
            f"{FEWEST_POINTS} are the least."
        )
    numbers = [
        float(getattr(predicted, name))
        for name in ("photocurrent", "saturation_current", "resistance_series", "nNsVth")
    ]
    if not np.all(np.isfinite(numbers)) or numbers[0] <= 0.0 or numbers[1] <= 0.0:
        raise ValueError("The predicted curve has no finite parameters, so nothing to compare.")
    reference = reference_of(predicted, bypass_groups)
    v = voltage / reference.voltage_unit
    i = current / reference.current_unit
    noise_voltage, noise_current = sweep_noise(v, i)
    return reference, Sweep(v, i, noise_voltage, noise_current)
