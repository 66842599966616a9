"""`restpoint listing FILE.pdf`: the text of an offer, and pictures of the sticks, from a certificate."""

from __future__ import annotations

import argparse

from station.app import paths
from station.app.display import paint_without_display
from station.app.offers import offer_of


def run(args: argparse.Namespace) -> int:
    """Print the text; the pictures lie beside the certificate."""
    paint_without_display()
    from station.ui.start import make_app  # Qt only where something is painted

    app = make_app()
    offer = offer_of(args.file, paths.records_folder())
    del app
    print(offer.text, end="")
    return 0
