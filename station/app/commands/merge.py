"""`restpoint merge OTHER`: join the records of another bench into these."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from station.app import paths
from station.app.opening import open_records
from station.app.shell import shell_word
from station.certificate.keys import known_keys, known_path
from station.records.merge import MergePreview
from station.words import command_line as words


def run(args: argparse.Namespace) -> int:
    """Say what would come in and what would change, ask, and merge; a second time nothing does. 1: it was not done."""
    with open_records() as store:
        report = store.merge(args.other, asking(args.yes))
    if report is None:
        return 1
    print(report.sentence())
    for line in their_keys(args.other):
        print(line)
    return 0


def asking(yes: bool) -> Callable[[MergePreview], bool]:
    """Shows what a merge would do and asks whether it shall; with `yes`, and where nothing is new, it does not ask.
    `yes` is no answer to entries in the name of this bench that it does not know."""

    def agree(preview: MergePreview) -> bool:
        for line in preview.lines():
            print(line)
        ours = preview.in_our_name > 0
        if preview.log_alone or (yes and not ours):
            return True
        if yes or not sys.stdin.isatty():
            print(words.NOT_BY_YES if ours else words.SAY_YES)
            return False
        try:
            agreed = input(words.MERGE_ASK).strip().casefold().startswith(words.YES)
        except EOFError:
            agreed = False
        if not agreed:
            print(words.NOT_MERGED)
        return agreed

    return agree


def their_keys(other: Path) -> Iterator[str]:
    """How to know the keys that the other bench signs with or knows: a person decides that, not a file on a stick."""
    theirs = (other if other.is_dir() else other.parent) / "keys"
    known = known_keys(paths.keys_folder())
    for key in known_keys(theirs).values():
        if key.public not in known:
            yield words.KEY_OF_OTHER.format(name=key.name, fingerprint=key.fingerprint)
            yield words.TRUST_KEY.format(path=shell_word(known_path(theirs, key.fingerprint)))
