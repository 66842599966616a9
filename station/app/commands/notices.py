"""`restpoint notices`: the licences of what Restpoint is built on."""

from __future__ import annotations

import argparse

from station.app.notices import notices


def run(args: argparse.Namespace) -> int:
    """Print them."""
    print(notices(), end="")
    return 0
