"""`restpoint export FOLDER`: the records for other programs."""

from __future__ import annotations

import argparse

from station.app.opening import open_records


def run(args: argparse.Namespace) -> int:
    """Write CSV, JSON, captures and photos into a new folder."""
    with open_records(read_only=True) as store:
        report = store.export(args.folder)
    print(f"Exported to {report.folder}: {report.rows} rows, {report.files} files.")
    return 0
