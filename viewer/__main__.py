"""`python -m viewer` does what the `curvewright` command does."""

import sys

from viewer.app.command_line import run

if __name__ == "__main__":
    sys.exit(run())
