"""`tuimatch keys`: every key of the interface, as a file of keys to start from."""

from __future__ import annotations

import argparse
import json
import os

DESCRIPTION = (
    "Prints every key of the interface as it is now, as a file of keys: keep the "
    "lines that you change as keys.toml in the configuration folder."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command has no arguments of its own."""


def run(arguments: argparse.Namespace) -> None:
    """Print a line for each, by screens."""
    from tuimatch.tui import keys_file
    from tuimatch.tui.all_keys import defaults, meanings

    known = defaults()
    own = keys_file.load(os.environ, known)
    print("[keys]")
    screen = ""
    for name, meaning in meanings().items():
        if screen != (screen := name.partition(".")[0]):
            print()
        line = f"{name} = {json.dumps(own.get(name, known[name]))}"
        print(f"{line:<34} # {meaning}")
