"""`restpoint restore`: put a back-up in the place of the records, also when they can no longer be opened."""

from __future__ import annotations

import argparse

from station.app import paths
from station.app.opening import restore_records
from station.errors import InputError


def run(args: argparse.Namespace) -> int:
    """Without a name: list the back-ups, newest first. With one: put it in place; the old records are set aside."""
    folder = paths.records_folder()
    backups = sorted((folder / "backups").glob("restpoint-*.db"), reverse=True)
    if not args.backup:
        print("\n".join(path.name for path in backups) or f"There is no back-up in {folder / 'backups'} yet.")
        return 0
    chosen = next((path for path in backups if path.name == args.backup), None)
    if chosen is None:
        raise InputError(f"There is no back-up {args.backup}; “restpoint restore” lists those there are.")
    aside = restore_records(chosen)
    print(f"Restored from {chosen.name}." + (f" The records until now are in {aside}." if aside else ""))
    return 0
