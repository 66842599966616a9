"""`restpoint export FOLDER`: the records for other programs."""

from __future__ import annotations

import argparse

from station.app.grades import write_grades
from station.app.opening import open_records
from station.words import command_line as words
from station.words import grammar


def run(args: argparse.Namespace) -> int:
    """Write CSV, JSON, captures, photos and the grades into a new folder."""
    with open_records(read_only=True) as store:
        report = store.export(args.folder)
        write_grades(store, args.folder)
    rows, files = grammar.count_of(report.rows, words.ROWS), grammar.count_of(report.files, words.FILES)
    print(words.EXPORTED.format(folder=report.folder, rows=rows, files=files))
    return 0
