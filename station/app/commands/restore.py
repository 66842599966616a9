"""`restpoint restore`: put a back-up in the place of the records, also when they can no longer be opened."""

from __future__ import annotations

import argparse
from pathlib import Path

from station.app import paths
from station.app.known_beside import beside, told_of
from station.app.opening import open_records, restore_records
from station.errors import InputError
from station.words import command_line as words
from station.words import desk


def run(args: argparse.Namespace) -> int:
    """Without a name: list the back-ups, newest first. With one: put it in place; the old records are set aside."""
    folder = paths.records_folder()
    backups = sorted((folder / "backups").glob("restpoint-*.db"), reverse=True)
    if not args.backup:
        print("\n".join(path.name for path in backups) or words.NO_BACK_UP_YET.format(folder=folder / "backups"))
        return 0
    chosen = next((path for path in backups if path.name == args.backup), Path(args.backup))
    if not chosen.exists():
        raise InputError(words.NO_SUCH_BACK_UP.format(name=args.backup))
    aside = restore_records(chosen)
    said = (
        desk.RESTORED_ASIDE.format(name=chosen.name, folder=aside) if aside else desk.RESTORED.format(name=chosen.name)
    )
    print(said)
    with open_records(read_only=True) as store:
        for more in told_of(beside(store, paths.certificates_folder()), paths.certificates_folder()):
            print(more)
    return 0
