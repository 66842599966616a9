"""`restpoint sync FOLDER`: join records with the other benches that use the same shared folder."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from station.app import paths
from station.app.commands.merge import asking, their_keys
from station.app.opening import open_records
from station.app.own_key import own_key_file
from station.certificate.keys import KnownKey, existing_key, known_keys, known_path, trust
from station.errors import InputError, StationError
from station.records.shared import other_folders, own_folder, refuse_elsewhere
from station.records.store import Store
from station.words import command_line as words
from station.words import grammar


def run(args: argparse.Namespace) -> int:
    """Merge what each of the others has put there, then put there what is here. 1: somebody said no; 2: the records of
    one cannot be used, those of the others were merged all the same."""
    folder: Path = args.folder
    if not folder.is_dir():
        raise InputError(words.SYNC_NO_FOLDER.format(folder=folder))
    if paths.records_folder().resolve() in (folder.resolve(), *folder.resolve().parents):
        raise InputError(words.SYNC_IN_RECORDS.format(folder=folder))
    with open_records() as store:
        try:
            others = other_folders(folder, store.path)
            if not others:
                print(words.SYNC_ALONE.format(folder=folder))
            status = max((_merge(store, other, args.yes) for other in others), default=0)
            count = store.share(folder)
            own = own_folder(folder, store.path)
            _put_public_key(own)
        except OSError as error:
            path = error.filename or folder
            raise InputError(words.SYNC_UNWRITABLE.format(path=path, reason=error.strerror)) from error
    print(words.SYNC_WRITTEN.format(folder=own, files=grammar.count_of(count, words.FILES)))
    return status


def _merge(store: Store, other: Path, yes: bool) -> int:
    print(words.SYNC_WITH.format(name=other.name))
    try:
        refuse_elsewhere(other, other.parent, store.path)
        report = store.merge(other, asking(yes))
    except StationError as error:
        sys.stderr.write(f"restpoint: {error}\n")
        return 2
    if report is None:
        return 1
    print(report.sentence())
    for line in their_keys(other):
        print(line)
    return 0


def _put_public_key(own: Path) -> None:
    """The public half alone: what the others check certificates by."""
    key = existing_key(own_key_file())
    if key is None or known_path(own / "keys", key.fingerprint).exists():
        return
    known = known_keys(paths.keys_folder()).get(key.public)
    trust(own / "keys", KnownKey(known.name if known else "", key.public))
