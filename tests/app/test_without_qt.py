"""Every command works where no Qt is installed."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.analysis.device.traced_module import write
from viewer.app.command_line import COMMANDS, run
from viewer.site_data.resource_folder import example_folder

BLOCKED = """
import sys

class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("PySide6", "pyqtgraph", "shiboken6"):
            raise ImportError(f"{name} is blocked")

sys.meta_path.insert(0, Refuse())
from viewer.app.command_line import run
sys.exit(run(sys.argv[1:]))
"""


def _words(command: str, tmp_path: Path) -> list[str]:
    example = str(example_folder())
    one_trace = next(example_folder().rglob("*.csv"))
    site_file = str(tmp_path / "site.curvewright")
    return {
        "analyze": [example, "--quiet", "--json", str(tmp_path / "out.jsonl")],
        "limits": [example, "--lowest", "-10"],
        "hours": [example, "--from", "2025-06-21", "--tilt", "20", "--azimuth", "180"],
        "sheet": [example, "--cell-temperature", "45", "--pdf", str(tmp_path / "s.pdf")],
        "expect": [example, "CB-A", "CB-A-S01", "--irradiance=800", "--cell-temp=45"],
        "simulate": ["dead_cell", "--out", str(tmp_path / "visit")],
        "import": [example, site_file, "--quiet"],
        "site": [site_file, "check"],
        "read": [str(one_trace), "--explain"],
        "report": [example, "--kind", "recommendations", "--out", str(tmp_path / "r.xlsx")],
        "verify": [str(tmp_path / "pack.zip")],
        "picture": [example],
        "sample": [example],
        "trend": [example],
        "translate": [example, "CB-A/CB-A-S05", "--procedure", "2"],
        "parameters": [example, "CB-A/CB-A-S05"],
        "datasheet": [str(write(tmp_path / "bench")), "--technology=multi-Si", "--cells=60"],
        "mismatch": [example],
        "worst": [example, "--price", "0.12"],
        "warranty": [example, "--first-year=2", "--annual=0.5", "--start=2024-06-01"],
    }[command]


def _prepare(command: str, tmp_path: Path) -> None:
    """What a command works on besides the example."""
    if command == "site":
        assert run(["import", *_words("import", tmp_path)]) in (0, 1)
    if command == "verify":
        pack = str(tmp_path / "pack.zip")
        words = ["--kind", "recommendations", "--out", str(tmp_path / "r.pdf"), "--pack", pack]
        assert run(["report", str(example_folder()), *words]) in (0, 1)


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_command_runs_with_qt_blocked(command: str, tmp_path: Path) -> None:
    _prepare(command, tmp_path)
    done = subprocess.run(
        [sys.executable, "-c", BLOCKED, command, *_words(command, tmp_path)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr
    assert "Traceback" not in done.stderr


def test_the_window_without_a_display_says_so(tmp_path: Path) -> None:
    """No display: one line that names the command to use instead, and exit code 2."""
    done = subprocess.run(
        [sys.executable, "-m", "viewer", str(example_folder())],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path)},
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "curvewright analyze" in done.stderr
