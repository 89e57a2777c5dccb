"""How the program knows its own results again, so that they are never read as measurements."""

WORKBOOK_CATEGORY = "Curvewright results"
"""The property "category" of every workbook of results."""

RESULT_KEYS = frozenset({"trace", "status", "power_ratio", "candidate_causes"})
"""Keys of the JSON object that the analysis writes about a trace, among others."""

SENTENCE = "holds results, no sweep; read the trace files that they came from."
