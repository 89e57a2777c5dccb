"""What a thread's time was spent on: computing, or waiting for a processor (Linux tells)."""

from pathlib import Path
from threading import get_native_id


def seconds_waited() -> float:
    """How long this thread was ready and had no processor; 0 where the system does not tell."""
    try:
        told = Path(f"/proc/self/task/{get_native_id()}/schedstat").read_text(encoding="ascii")
        return int(told.split()[1]) / 1e9
    except OSError:
        return 0.0
