"""`python -m viewer` does what the `curvewright` command does."""

import multiprocessing
import sys

from viewer.app.command_line import run

if __name__ == "__main__":
    # In a one-file application the processes of the analysis start by this file again.
    multiprocessing.freeze_support()
    sys.exit(run())
