"""What a process of ours is told by its environment, before numpy is loaded.

The matrices here are small: threads of the linear algebra only wait for each other, and take the
second core from the other processes and from the window. On two cores 800 traces took 43 s of
processor time with two threads and 33 s with one.
"""

import multiprocessing
import os

ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


def calculate_in_one_thread() -> None:
    """Asks the linear algebra for one thread, unless the user asked for another number."""
    for name, value in ONE_THREAD.items():
        os.environ.setdefault(name, value)


def end_started_processes() -> None:
    """Ends the processes that this one has started: what they compute is not wanted any more."""
    for one in multiprocessing.active_children():
        one.terminate()
