"""`restpoint certificates`: the numbers of all certificates and what each is now; `--to FILE` writes that as a signed
list, for the checking page and whoever asks."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from station.app import paths
from station.app.known_beside import KEPT_LIST, Beside, beside, told_of, with_what_is_known
from station.app.opening import open_records
from station.app.own_key import own_key_file
from station.app.shop import shop_of
from station.app.terminal import one_line
from station.app.whole_file import write_whole
from station.certificate.keys import bench_key
from station.certificate.register import Entry, entry_of, register_json
from station.errors import RecordError, RecordFull
from station.judgement.issued import gaps, states_of
from station.records.issuing import name_of
from station.records.store import Store
from station.words import figures, grammar
from station.words import register as words


def run(args: argparse.Namespace) -> int:
    """0; 1 where a number is missing or double, or a withdrawal was forgotten."""
    folder = paths.certificates_folder()
    with open_records(read_only=True) as store:
        more = beside(store, folder)
        entries = entries_of(store, more)
        wrong = [
            (bench, number)
            for bench, number in gaps(store.certificates())
            if not any(one.number.endswith(name_of(bench, number)) for one in more.lost)
        ]
        for one in entries:
            print(_line(one))
        for bench, number in wrong:
            print(words.MISSING.format(number=number, bench=bench))
        for said in told_of(more, folder):
            print(said)
        if not entries:
            print(words.NONE_YET)
        if args.to is not None:
            print(_write(store, args.to, entries, more.listed_at))
    return 1 if wrong or more.forgotten else 0


def entries_of(store: Store, more: Beside) -> tuple[Entry, ...]:
    """All certificates in these records, bench by bench, as a list names them, then those known by what lies beside."""
    listed = states_of(store.certificates(), store.withdrawn_certificates())
    units = {one.issued.unit_id: store.unit(one.issued.unit_id) for one in listed}
    own = [(units[one.issued.unit_id].tag, units[one.issued.unit_id].created_at) for one in listed]
    entries = [entry_of(one, tag) for one, (tag, _) in zip(listed, own, strict=True)]
    return with_what_is_known(entries, own, more)


def _line(one: Entry) -> str:
    template = words.STATES[one.state]
    if one.state == "withdrawn" and one.replaced_by:
        template = words.WITHDRAWN_AND_REPLACED
    state = template.format(by=one.replaced_by, reason=one.reason)
    return one_line(words.LINE.format(number=one.number, day=figures.day(one.at), tag=one.tag, state=state))


def _write(store: Store, path: Path, entries: Sequence[Entry], before: str) -> str:
    """`before`: when the last list was signed. It is kept beside the certificates as well: after a back-up was put
    back, it knows what the records forgot."""
    shop, now = shop_of(store), store.now()
    if now < before:
        raise RecordError(words.CLOCK_BEFORE_LIST.format(before=figures.when(before), now=figures.when(now)))
    try:
        key = bench_key(own_key_file(), paths.keys_folder(), shop.name)
    except RecordError as error:
        raise RecordError(words.NO_KEY.format(problem=error)) from error
    data = register_json(key, shop.name, now, entries)
    for target in (paths.certificates_folder() / KEPT_LIST, path):
        try:
            write_whole(target, data)
        except OSError as error:
            raise RecordFull(words.NOT_WRITTEN.format(path=target, reason=error.strerror)) from error
    return words.WRITTEN.format(path=path, count=grammar.count_of(len(entries), words.CERTIFICATES))
