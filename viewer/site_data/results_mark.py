"""How the program knows its own results again, so that they are never read as measurements."""

WORKBOOK_CATEGORY = "Curvewright results"
"""The property "category" of every workbook of results."""

RESULT_KEYS = frozenset({"trace", "status", "power_ratio", "candidate_causes"})
"""Keys of the JSON object that the analysis writes about a trace, among others."""

SENTENCE = "holds results, no sweep; read the trace files that they came from."

POINT_COLUMNS = frozenset({"trace", "sha256", "voltage", "current"})
"""Columns of every table of points that the program exports, among others."""

COPIES = (
    "{source}: {count} of its {all} traces were exported from files of this folder and are read "
    "from there."
)

COLUMNS_FILE = ".columns.csv"
"""How the name of the file ends that tells the columns of an exported table."""

COLUMNS_SENTENCE = "tells the columns of an exported table, it holds no sweep."
