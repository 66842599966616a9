"""From units to labels in a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from station.app.whole_file import write_whole
from station.certificate.labels import Label, Size
from station.errors import RecordFull
from station.records.store import Store
from station.records.types import Unit
from station.words import labels as words

SIZES = "labels.toml"
"""the shop's own sizes, in the folder of its records"""


def labels_of(store: Store, units: Sequence[Unit]) -> list[Label]:
    """A label for each unit, by tag."""
    lots = {lot.id: lot.name for lot in store.lots()}
    ordered = sorted(units, key=lambda unit: unit.tag)
    return [
        Label(unit.tag, unit.model, words.LOT.format(lot=lots[unit.lot_id]) if unit.lot_id in lots else words.NO_LOT)
        for unit in ordered
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
