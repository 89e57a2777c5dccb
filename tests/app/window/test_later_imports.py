import subprocess
import sys
from pathlib import Path

from viewer.app.window.later_imports import LATER

ROOT = Path(__file__).resolve().parents[3]


def loaded_after(code: str) -> set[str]:
    ran = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print(*sys.modules)"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    return set(ran.stdout.split())


def test_the_window_starts_without_what_is_slow_to_load():
    loaded = loaded_after("import viewer.app.window.window_run")
    assert "viewer.app.window.main_window" in loaded
    slow = {"pvlib", "pandas", "scipy.stats", "matplotlib", "openpyxl", "pyarrow", "reportlab"}
    assert not loaded & {*slow, *LATER}


def test_it_is_loaded_in_the_background():
    loaded = loaded_after(
        "from viewer.app.window.later_imports import load_later; load_later().join()"
    )
    assert set(LATER) <= loaded
