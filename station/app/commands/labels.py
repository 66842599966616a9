"""`restpoint labels LOT`: labels with tag and code for a lot's units, as a PDF for the printer."""

from __future__ import annotations

import argparse
from contextlib import nullcontext
from pathlib import Path

from station.app import paths
from station.app.display import paint_without_display
from station.app.labels import SIZES, file_for, labels_of, write_labels
from station.app.opening import open_records
from station.app.shop import paper_of
from station.certificate.labels import size_named, sizes
from station.errors import InputError
from station.records.place import FILE_NAME
from station.records.store import Store
from station.words import command_line as words
from station.words import grammar
from station.words import labels as said


def run(args: argparse.Namespace) -> int:
    """Write the labels, or list the sizes."""
    folder = paths.records_folder()
    if args.lot is None:
        with open_records(read_only=True) if (folder / FILE_NAME).exists() else nullcontext() as store:
            there = sizes(folder / SIZES, paper_of(store) if store is not None else None)
        print(words.LABEL_SIZES.format(names=grammar.COMMA.join(size.name for size in there)))
        return 0
    with open_records(read_only=True) as store:
        size = size_named(args.size, sizes(folder / SIZES, paper_of(store)))
        labels = labels_of(store, store.units_of_lot(_lot(store, args.lot)))
    paint_without_display()
    from station.ui.start import make_app  # Qt only where something is painted

    app = make_app()
    path = write_labels(labels, size, args.to or Path(file_for(args.lot)), start=args.start)
    del app
    print(words.LABELS_WRITTEN.format(path=path, count=grammar.count_of(len(labels), said.COUNT)))
    return 0


def _lot(store: Store, name: str) -> str:
    found = next((lot for lot in store.lots() if lot.name == name), None)
    if found is None:
        raise InputError(words.NO_SUCH_LOT.format(lot=name, lots=grammar.COMMA.join(lot.name for lot in store.lots())))
    return found.id
