"""`restpoint certificates`: the numbers of all certificates and what each is now; `--to FILE` writes that as a signed
list, for the checking page and whoever asks."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from station.app import paths
from station.app.opening import open_records
from station.app.own_key import own_key_file
from station.app.shop import shop_of
from station.app.terminal import one_line
from station.app.whole_file import write_whole
from station.certificate.keys import bench_key
from station.certificate.register import Entry, entry_of, register_json
from station.errors import RecordError, RecordFull
from station.judgement.issued import gaps, states_of
from station.records.store import Store
from station.words import figures, grammar
from station.words import register as words


def run(args: argparse.Namespace) -> int:
    """0; 1 where a number is missing or double."""
    with open_records(read_only=True) as store:
        entries, wrong = entries_of(store), gaps(store.certificates())
        for one in entries:
            print(_line(one))
        for bench, number in wrong:
            print(words.MISSING.format(number=number, bench=bench))
        if not entries:
            print(words.NONE_YET)
        if args.to is not None:
            print(_write(store, args.to, entries))
    return 1 if wrong else 0


def entries_of(store: Store) -> tuple[Entry, ...]:
    """All certificates in these records, bench by bench, as a list names them."""
    listed = states_of(store.certificates(), store.withdrawn_certificates())
    tags = {one.issued.unit_id: store.unit(one.issued.unit_id).tag for one in listed}
    return tuple(entry_of(one, tags[one.issued.unit_id]) for one in listed)


def _line(one: Entry) -> str:
    template = words.STATES[one.state]
    if one.state == "withdrawn" and one.replaced_by:
        template = words.WITHDRAWN_AND_REPLACED
    state = template.format(by=one.replaced_by, reason=one.reason)
    return one_line(words.LINE.format(number=one.number, day=figures.day(one.at), tag=one.tag, state=state))


def _write(store: Store, path: Path, entries: Sequence[Entry]) -> str:
    shop = shop_of(store)
    try:
        key = bench_key(own_key_file(), paths.keys_folder(), shop.name)
    except RecordError as error:
        raise RecordError(words.NO_KEY.format(problem=error)) from error
    try:
        write_whole(path, register_json(key, shop.name, store.now(), entries))
    except OSError as error:
        raise RecordFull(words.NOT_WRITTEN.format(path=path, reason=error.strerror)) from error
    return words.WRITTEN.format(path=path, count=grammar.count_of(len(entries), words.CERTIFICATES))
