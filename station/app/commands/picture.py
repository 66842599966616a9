"""`restpoint picture RESULT`: the reports behind a result as a picture and as numbers; `restpoint picture TAG`: the
course of a unit.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from station.app import paths
from station.app.display import paint_without_display
from station.app.evidence import read_evidence
from station.app.house import HouseFile
from station.app.opening import open_records
from station.app.shelf_of_sheets import SheetShelf
from station.app.whole_file import write_whole
from station.errors import InputError
from station.evidence.course import course_file, course_of, worth_drawing
from station.evidence.told import file_name
from station.records.store import Store
from station.words import command_line as words
from station.words import evidence_room as said

SIZE_PX = (1200, 640)


def run(args: argparse.Namespace) -> int:
    """Write PNG, SVG and CSV of what tells most of a result, or of the readings of a unit over its visits."""
    with open_records(read_only=True) as store:
        unit_id = store.unit_of_result(args.result)
        files = _of_result(store, unit_id, args.result) if unit_id is not None else _of_course(store, args.result)
    folder = Path(args.to) if args.to else Path()
    for name, content in files.items():
        path = folder / name
        try:
            write_whole(path, content)
        except OSError as error:
            raise InputError(said.NOT_WRITTEN.format(folder=folder, reason=error.strerror or error)) from error
        print(path)
    return 0


def _of_result(store: Store, unit_id: str, result_id: str) -> dict[str, bytes]:
    history, house = store.history(unit_id), HouseFile(store.folder).now()
    result = next(r for r in history.results if r.id == result_id)
    evidence = read_evidence(store, SheetShelf(paths.sheets_folder()), house, history.unit, result)
    if not evidence.pictures:
        raise InputError(said.EMPTY)
    paint_without_display()
    from station.ui.evidence.picture_file import drawn  # Qt and the plot library only where something is painted
    from station.ui.start import make_app

    app = make_app()
    found = drawn(evidence, history.unit, result, SIZE_PX)
    del app
    return _named(file_name(history, result, evidence.pictures[0]), found)


def _of_course(store: Store, tag: str) -> dict[str, bytes]:
    unit = next((u for u in store.units(tag) if u.tag == tag), None)
    if unit is None:
        raise InputError(words.NO_SUCH_RESULT.format(result=tag))
    course, sheet = course_of(store.history(unit.id)), SheetShelf(paths.sheets_folder()).of_unit(unit)
    if not course.lines:
        raise InputError(said.NO_COURSE)
    names = {c.id: c.name for c in sheet.controls}
    paint_without_display()
    from station.ui.evidence.picture_file import drawn_course
    from station.ui.painting.look import look_of
    from station.ui.start import make_app

    app, found = make_app(), dict[str, bytes]()
    for line in worth_drawing(course):
        drawn = drawn_course(course, line, names.get(line.control, line.control), unit, look_of("light"))
        found |= _named(course_file(unit.tag, line), drawn)
    del app
    return found


def _named(name: str, files: Mapping[str, bytes]) -> dict[str, bytes]:
    return {f"{name}.{ending}": content for ending, content in files.items()}
