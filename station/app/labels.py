"""From units to labels in a file: for the window and for the command."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from station.app import paths
from station.app.shop import paper_of
from station.app.whole_file import write_whole
from station.app.work import Worker
from station.errors import RecordFull
from station.records.store import Store
from station.records.types import Unit
from station.ui.ports import DeskEvent, LabelsReady
from station.ui.tags import shelf_order
from station.words import labels as words

if TYPE_CHECKING:
    from station.certificate.labels import Label, Size  # the window starts without them

SIZES = "labels.toml"
"""the shop's own sizes, in the folder of its records"""
_LONGEST_NAME = 80
_LAST = "label_sheet"


class Labels:
    """The `LabelPort`."""

    def __init__(self, store: Store, worker: Worker) -> None:
        self._store, self._worker = store, worker

    def sizes(self) -> Sequence[Size]:
        from station.certificate.labels import sizes

        return sizes(self._store.folder / SIZES, paper_of(self._store))

    def last_sheet(self) -> tuple[str, int]:
        place, _, name = self._store.get_setting(_LAST).partition("|")
        return name, int(place) if place.isdecimal() else 1

    def write_labels(self, units: Sequence[Unit], name: str, size: Size, start: int) -> None:
        def write() -> Iterable[DeskEvent]:
            labels, path = labels_of(self._store, units), paths.labels_folder() / file_for(name)
            write_labels(labels, size, path, start=start)
            self._store.set_setting(_LAST, f"{(start - 1 + len(labels)) % size.each + 1}|{size.name}")
            return (LabelsReady(str(path), len(labels)),)

        self._worker.submit(write)


def file_for(name: str) -> str:
    """What the PDF is called; signs of a name that mean something in a path, or nothing in some, are "-"."""
    return words.FILE_OF.format(name=re.sub(r"[^\w-]+", "-", name)[:_LONGEST_NAME])


def labels_of(store: Store, units: Sequence[Unit]) -> list[Label]:
    """A label for each unit, as they stand on a shelf."""
    from station.certificate.labels import Label

    lots = {lot.id: lot.name for lot in store.lots()}
    return [
        Label(unit.tag, unit.model, words.LOT.format(lot=lots[unit.lot_id]) if unit.lot_id in lots else words.NO_LOT)
        for unit in sorted(units, key=shelf_order)
    ]


def write_labels(labels: Sequence[Label], size: Size, path: Path, *, start: int = 1) -> Path:
    """Write them in one step. InputError as `labels_pdf`, RecordFull where it cannot be written."""
    from station.certificate.label_page import labels_pdf

    data = labels_pdf(labels, size, start=start)
    try:
        write_whole(path, data)
    except OSError as error:
        raise RecordFull(words.NOT_WRITTEN.format(path=path, reason=error.strerror)) from error
    return path
