"""What went wrong, as the one sentence that a command prints."""

import sys

from viewer.site_data.whole_file import UnwrittenError


def sentence(error: Exception) -> str:
    """What happened; the system's words about a file are told with that file."""
    if not isinstance(error, OSError) or isinstance(error, UnwrittenError):
        return str(error)
    why = error.strerror or str(error)
    return f"{error.filename}: {why}" if error.filename else why


def complain(command: str, said: str) -> None:
    """Say it on standard error in the name of the command; outputs stay apart."""
    print(f"curvewright {command}: {said}", file=sys.stderr)
