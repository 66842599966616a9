"""`restpoint listing FILE.pdf`: the text of an offer, and pictures of the sticks, from a certificate."""

from __future__ import annotations

import argparse
import sys
from contextlib import nullcontext

from station.app import paths
from station.app.display import paint_without_display
from station.app.offers import offer_of
from station.app.opening import open_records
from station.app.shelf_of_sheets import SheetShelf
from station.records.place import FILE_NAME


def run(args: argparse.Namespace) -> int:
    """Print the text; the pictures lie beside the certificate."""
    paint_without_display()
    from station.ui.start import make_app  # Qt only where something is painted

    app = make_app()
    folder = paths.records_folder()
    with open_records(read_only=True) if (folder / FILE_NAME).exists() else nullcontext() as store:
        offer = offer_of(args.file, folder, store, SheetShelf(paths.sheets_folder()).named)
    del app
    print(offer.text, end="")
    if offer.note:
        print(offer.note, file=sys.stderr)
    return 0
