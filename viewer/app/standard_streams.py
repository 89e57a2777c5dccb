"""Standard output and error of the command line, as terminals and pipes of any system take them."""

import codecs
import json
import os
import sys

BY_NUMBER = "curvewright by number"


def _by_number(error: UnicodeError) -> tuple[str, int]:
    """The letters that cannot be written as JSON writes them, so that JSON stays JSON."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return json.dumps(error.object[error.start : error.end])[1:-1], error.end


codecs.register_error(BY_NUMBER, _by_number)


def write_what_can_be_written() -> None:
    """Letters that a stream's encoding lacks are printed as their numbers, and end nothing.

    A Windows pipe knows 256 letters, a bare system 128; a file's name may hold bytes of any kind.
    """
    for stream in (sys.stdout, sys.stderr):
        if stream is not None and hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=BY_NUMBER)


def flush() -> None:
    """What is still held back is written now, while a failure can be told. Raises OSError."""
    if sys.stdout is not None:
        sys.stdout.flush()


def give_up() -> None:
    """Point the output at nothing, so that the interpreter does not complain again at its end."""
    if sys.stdout is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
