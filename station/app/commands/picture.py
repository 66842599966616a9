"""`restpoint picture RESULT`: the reports behind a result as a picture and as numbers."""

from __future__ import annotations

import argparse
from pathlib import Path

from station.app import paths
from station.app.display import paint_without_display
from station.app.evidence import read_evidence
from station.app.house import HouseFile
from station.app.opening import open_records
from station.app.shelf_of_sheets import SheetShelf
from station.app.whole_file import write_whole
from station.errors import InputError
from station.evidence.told import file_name
from station.words import command_line as words
from station.words import evidence_room as said

SIZE_PX = (1200, 640)


def run(args: argparse.Namespace) -> int:
    """Write PNG, SVG and CSV of what tells most of a result."""
    with open_records(read_only=True) as store:
        unit_id = store.unit_of_result(args.result)
        if unit_id is None:
            raise InputError(words.NO_SUCH_RESULT.format(result=args.result))
        history, house = store.history(unit_id), HouseFile(store.folder).now()
        result = next(r for r in history.results if r.id == args.result)
        evidence = read_evidence(store, SheetShelf(paths.sheets_folder()), house, history.unit, result)
    if not evidence.pictures:
        raise InputError(said.EMPTY)
    paint_without_display()
    from station.ui.evidence.picture_file import drawn  # Qt and the plot library only where something is painted
    from station.ui.start import make_app

    app = make_app()
    files = drawn(evidence, history.unit, result, SIZE_PX)
    del app
    folder = Path(args.to) if args.to else Path()
    name = file_name(history, result, evidence.pictures[0])
    for ending, content in files.items():
        path = folder / f"{name}.{ending}"
        try:
            write_whole(path, content)
        except OSError as error:
            raise InputError(said.NOT_WRITTEN.format(folder=folder, reason=error.strerror or error)) from error
        print(path)
    return 0
