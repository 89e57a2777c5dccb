"""The command asks for one thread of linear algebra before numpy is there, and the user may not."""

import os
import subprocess
import sys

SAY = """
import sys
from viewer.app.command_line import run
early = "numpy" in sys.modules
try:
    run(["expect", "--help"])
except SystemExit:
    pass
from os import environ
print(early, environ["OPENBLAS_NUM_THREADS"], environ["OMP_NUM_THREADS"])
"""


def _said(**wanted: str) -> str:
    kept = {k: v for k, v in os.environ.items() if not k.endswith("_NUM_THREADS")}
    done = subprocess.run(
        [sys.executable, "-c", SAY], env=kept | wanted, capture_output=True, text=True, check=True
    )
    return done.stdout.splitlines()[-1]


def test_the_command_line_asks_for_one_thread_before_numpy_is_loaded() -> None:
    assert _said() == "False 1 1"


def test_a_number_the_user_asked_for_stays() -> None:
    assert _said(OPENBLAS_NUM_THREADS="4") == "False 4 1"
