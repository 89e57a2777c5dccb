"""A sub-command run in this process, as the command line runs it."""

import argparse
import importlib

from viewer.app.command_line import COMMANDS


def command(name: str, *words: object) -> int:
    """The exit code of `curvewright NAME WORDS`."""
    module = importlib.import_module(COMMANDS[name][0])
    parser = argparse.ArgumentParser()
    module.add_arguments(parser)
    return module.run(parser.parse_args([str(word) for word in words]))
