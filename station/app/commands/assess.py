"""`restpoint assess`: measure captures again, without any window."""

from __future__ import annotations

import argparse
import sys

from station.errors import StationError
from station.evidence.assess import assess_files
from station.evidence.written import to_json_line, to_text


def run(args: argparse.Namespace) -> int:
    """Print one answer for each capture; 2 when one of them could not be measured (the others still are)."""
    status = 0
    for path, outcome in assess_files(args.captures, args.sheet):
        if isinstance(outcome, StationError):
            sys.stderr.write(f"restpoint: {outcome}\n")
            status = 2
        else:
            print(to_json_line(path, outcome) if args.json else to_text(path, outcome), flush=True)
    return status
