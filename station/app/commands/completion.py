"""`restpoint completion SHELL`: what makes a shell complete this command."""

from __future__ import annotations

import argparse


def run(args: argparse.Namespace) -> int:
    """Print it."""
    print(completion(args.shell))
    return 0


def completion(shell: str) -> str:
    """The text for one of bash, zsh, tcsh."""
    import shtab

    from station.app.main import parser

    return str(shtab.complete(parser(["learn"]), shell))
