"""One JSON object a trace: the contract that other programs read."""

import json
import math
from collections.abc import Mapping
from dataclasses import asdict

from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.results.trace_uncertainty import TraceUncertainty
from viewer.physics.measured_sweep.key_points import KeyPoints, MeasuredKeyPoints
from viewer.physics.nomenclature import KEY_POINT_NAMES
from viewer.site_data.iv_trace import Unreadable


def _number(value: float | None) -> float | None:
    """JSON knows no NaN or infinity: what is not known is null."""
    return None if value is None or not math.isfinite(value) else float(value)


def _key_points(points: KeyPoints | None) -> dict[str, float | None]:
    if points is None:
        return dict.fromkeys(KEY_POINT_NAMES)
    return {name: _number(value) for name, value in points.as_dict().items()}


def _plain(details: Mapping[str, float | int | str]) -> dict[str, float | int | str | None]:
    return {
        key: _number(value) if isinstance(value, float) else value for key, value in details.items()
    }


def result_object(result: TraceResult) -> dict[str, object]:
    """The object of a trace that could be read."""
    trace, used = result.trace, result.conditions
    return {
        "trace": trace.source,
        "combiner": trace.combiner,
        "string": trace.string,
        "measured_at": trace.measured_at.isoformat() if trace.measured_at else None,
        "status": "ok",
        "problem": None,
        "conditions": {
            "poa_global": _number(used.poa_global),
            "temperature_cell": _number(used.temperature_cell),
            "effective_irradiance": _number(used.effective_irradiance),
            "checks": [
                {"check": c.check, "passed": c.passed, "detail": c.detail} for c in used.checks
            ],
        },
        "measured": _key_points(result.measured),
        "predicted": _key_points(result.predicted),
        "translated": _key_points(result.translated),
        "translation": result.translation or None,
        "power_ratio": _number(result.power_ratio),
        "power_ratio_uncertainty": _number(result.power_ratio_uncertainty),
        "signatures": [
            {
                "kind": s.kind,
                "size": _number(s.size),
                "unit": s.unit,
                "text": s.text,
                **_plain(s.details),
            }
            for s in result.signatures
        ],
        "candidate_causes": [
            {
                "cause": c.cause,
                "likelihood": _number(c.likelihood),
                "evidence": c.evidence,
                "against": c.against,
                "next_check": c.next_check,
            }
            for c in result.candidate_causes
        ],
        "uncertainty": _uncertainty(result.uncertainty),
        "sweep": _sweep(result.sweep),
        "missing": list(result.missing),
        "remarks": [*trace.remarks, *(result.sweep.remarks if result.sweep else ())],
    }


def _uncertainty(found: TraceUncertainty | None) -> dict[str, object]:
    """Expanded uncertainties (k = 2) of the key points."""
    kinds = ("measured", "predicted", "translated")
    return {kind: _key_points(getattr(found, kind) if found else None) for kind in kinds}


def _sweep(sweep: MeasuredKeyPoints | None) -> dict[str, object] | None:
    """Slopes at the ends [ohm] and the quality of the sweep."""
    if sweep is None:
        return None
    slopes = {key: _plain_value(value) for key, value in asdict(sweep.slopes).items()}
    quality = asdict(sweep.quality) if sweep.quality else {}
    return {
        **slopes,
        "quality": {key: _plain_value(value) for key, value in quality.items()},
        "power_maxima": [{"v": one.voltage, "p": one.power} for one in sweep.power_maxima],
    }


def _plain_value(value: object) -> object:
    if isinstance(value, float):
        return _number(value)
    return list(value) if isinstance(value, tuple) else value


def unreadable_object(unreadable: Unreadable) -> dict[str, object]:
    """The object of a file that gave no trace: the same keys, with nothing in them."""
    return {
        "trace": unreadable.source,
        "combiner": None,
        "string": None,
        "measured_at": None,
        "status": "unreadable",
        "problem": unreadable.problem,
        "conditions": {"poa_global": None, "temperature_cell": None, "checks": []},
        "measured": _key_points(None),
        "predicted": _key_points(None),
        "translated": _key_points(None),
        "translation": None,
        "power_ratio": None,
        "power_ratio_uncertainty": None,
        "signatures": [],
        "candidate_causes": [],
        "uncertainty": _uncertainty(None),
        "sweep": None,
        "missing": [],
        "remarks": [],
    }


def json_line(
    outcome: TraceResult | Unreadable, settings: Mapping[str, object] | None = None
) -> str:
    """One line of JSON Lines, without its line end; `settings` tells what it was computed with."""
    made = unreadable_object(outcome) if isinstance(outcome, Unreadable) else result_object(outcome)
    if settings is not None:
        made["settings"] = settings
    return json.dumps(made, ensure_ascii=False, allow_nan=False)
