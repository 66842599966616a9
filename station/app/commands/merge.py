"""`restpoint merge OTHER`: join the records of another bench into these."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from station.app import paths
from station.app.opening import open_records
from station.certificate.keys import known_keys, known_path
from station.words import command_line as words


def run(args: argparse.Namespace) -> int:
    """Merge and say what came in; a second time nothing does."""
    with open_records() as store:
        store.daily_backup()
        print(store.merge(args.other).sentence())
    for line in _their_keys(args.other):
        print(line)
    return 0


def _their_keys(other: Path) -> Iterator[str]:
    """How to know the keys that the other bench signs with or knows: a person decides that, not a file on a stick."""
    theirs = (other if other.is_dir() else other.parent) / "keys"
    known = known_keys(paths.keys_folder())
    for key in known_keys(theirs).values():
        if key.public not in known:
            yield words.KEY_OF_OTHER.format(name=key.name, fingerprint=key.fingerprint)
            yield words.TRUST_KEY.format(path=known_path(theirs, key.fingerprint))
