"""`restpoint demo`: try it on a sample unit, with records of their own."""

from __future__ import annotations

import argparse
import os
import tempfile
from dataclasses import replace
from pathlib import Path

from station.app.display import need_display, paint_without_display
from station.app.opening import open_records
from station.app.samples import DEMO_LOT, DEMO_SHOP, demo_unit, work_through
from station.app.shell import shell_word
from station.records.store import Store
from station.records.types import Unit
from station.words import command_line as words
from station.words import common


def run(args: argparse.Namespace) -> int:
    """With --auto: a whole unit without a person or a display. Else: the window with the unit plugged in."""
    if args.auto:
        paint_without_display()
    else:
        need_display()
    folder = args.folder or Path(tempfile.mkdtemp(prefix="restpoint-demo-"))
    os.environ["RESTPOINT_DATA"] = str(folder)
    store = open_records()
    unit = _unit(store, args.unit)
    for key, value in DEMO_SHOP.items():
        if not store.get_setting(key):
            store.set_setting(key, value)
    if not args.auto:
        from station.app.commands.window import make_window

        app, _window = make_window(theme=args.theme, watch=False, store=store, sample=args.unit)
        return app.exec()
    with store:
        return _auto(store, unit)


def _auto(store: Store, unit: Unit) -> int:
    from station.app.certify import certify
    from station.ui.start import make_app

    done = work_through(store, unit, say=lambda line: print(line, flush=True))
    app = make_app()  # held: Qt paints the certificate
    written = certify(store, unit.id, done.sheet, now=store.now())
    del app
    print(words.DEMO_OUTCOME.format(outcome=common.OUTCOMES[done.outcome.value]))
    for text in done.findings:
        print(words.DEMO_FINDING.format(finding=text))
    print(words.DEMO_RECORDS.format(path=store.path))
    print(words.DEMO_CERTIFICATE.format(path=written.path))
    signed = words.DEMO_SIGNED.format(
        fingerprint=written.fingerprint, folder=shell_word(store.folder), path=shell_word(written.path)
    )
    print(signed if written.fingerprint else words.DEMO_NOT_SIGNED.format(problem=written.problem))
    return 0


def _unit(store: Store, tag: str) -> Unit:
    """The sample unit in these records, put there with its lot the first time."""
    known = next((u for u in store.units(tag) if u.tag == tag), None)
    if known is not None:
        return known
    lot = next((found for found in store.lots() if found.name == DEMO_LOT.name), None) or store.add_lot(DEMO_LOT)
    return store.add_unit(replace(demo_unit(tag), lot_id=lot.id))
