"""What lies beside the records and knows of certificates that they do not know, once a back-up stands in their place:
the files of certificates, and the last signed list, which is kept with them.

Only what this bench signed counts, and of an unsigned file its number.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from station.app.own_key import own_key_file
from station.capture.regular import is_regular, read_regular
from station.certificate.keys import existing_key
from station.certificate.register import MOST_BYTES as MOST_LIST_BYTES
from station.certificate.register import Entry, Register, read_register
from station.certificate.signature import CONTENT_NAME, fingerprint
from station.certificate.unpack import unpack
from station.certificate.verify import Verdict, check
from station.errors import InputError, RecordError
from station.records.store import Store
from station.words import figures, grammar
from station.words import register as words

KEPT_LIST = "list.json"
"""in the folder of the certificates: the last list that was signed"""
_MOST_BYTES = 32_000_000
_NAMED = 12
"""so many numbers are told one by one"""


@dataclass(frozen=True, slots=True)
class Found:
    """A certificate as its file has it. `unit`: tag and day of arrival, which tell units apart."""

    entry: Entry
    unit: tuple[str, str]
    signed: bool


@dataclass(frozen=True, slots=True)
class Beside:
    """`lost`: certificates that the records do not know; `forgotten`: those that they know, and not that they were
    withdrawn, each as the list has it; `listed_at`: when the last list was signed, "" where there is none."""

    lost: tuple[Entry, ...] = ()
    units: tuple[tuple[str, str], ...] = ()
    """of the `lost` ones, in their order"""
    forgotten: tuple[Entry, ...] = ()
    listed_at: str = ""


def beside(store: Store, folder: Path) -> Beside:
    """What files and list in `folder` know beyond the records."""
    issued = store.certificates()
    ours = _ours(one.fingerprint for one in issued)
    kept = _kept_list(folder / KEPT_LIST, ours)
    by_list = {one.content_sha256: one for one in kept.entries} if kept else {}
    files = [one for one in _unknown_files(folder, {one.file_sha256 for one in issued}, ours) if one.signed]
    units = {one.entry.content_sha256: one.unit for one in files}
    lost = {one.entry.content_sha256: by_list.get(one.entry.content_sha256, one.entry) for one in files}
    known = {one.content_sha256: one.id for one in issued}
    taken_back = {sha: one for sha, one in by_list.items() if one.state == "withdrawn"}
    lost |= {sha: one for sha, one in taken_back.items() if sha not in known}
    once = store.once_withdrawn()
    forgotten = tuple(one for sha, one in taken_back.items() if sha in known and known[sha] not in once)
    every = tuple(sorted((one for sha, one in lost.items() if sha not in known), key=lambda one: (one.at, one.number)))
    named = tuple(units.get(one.content_sha256, ("", "")) for one in every)
    return Beside(every, named, forgotten, kept.at if kept else "")


def highest_number(folder: Path, name_of: str, least: int) -> int:
    """The highest number from `least` on that a certificate file of this bench bears, 0 where there is none. `name_of`:
    what stands before the number. Read are only files whose name says as much: of whole records there are none."""
    told = re.compile(rf"(?:^|-){re.escape(name_of)}(\d{{5,9}})\.pdf$")
    named = ((int(said.group(1)), path) for path in folder.glob("*.pdf") if (said := told.search(path.name)))
    for number, path in sorted((one for one in named if one[0] >= least), reverse=True):
        found = _read(path)
        if found is not None and found.entry.number.endswith(f"{name_of}{number:05d}"):
            return number
    return 0


# --- what there is ------------------------------------------------------------------------------------


def _ours(fingerprints: Iterable[str]) -> frozenset[str]:
    """Keys by which these records were signed for, this bench's own among them."""
    own = None
    with suppress(RecordError):
        own = existing_key(own_key_file())
    return frozenset(one for one in (*fingerprints, own.fingerprint if own else "") if one)


def _kept_list(path: Path, ours: frozenset[str]) -> Register | None:
    try:
        found = read_register(read_regular(path, MOST_LIST_BYTES))
    except (OSError, InputError):
        return None
    return found if found.holds and fingerprint(found.public) in ours else None


def _unknown_files(folder: Path, known: set[str], ours: frozenset[str]) -> Iterator[Found]:
    """The certificates in `folder` that the records do not have, by the hash of the file."""
    for path in sorted(folder.glob("*.pdf")):
        if path.name.startswith(".") or not is_regular(path):
            continue
        with suppress(OSError):
            if hashlib.sha256(read_regular(path, _MOST_BYTES)).hexdigest() in known:
                continue
            found = _read(path)
            if found is not None and (not found.signed or found.entry.fingerprint in ours):
                yield found


def _read(path: Path) -> Found | None:
    """A certificate that is as it was signed, or not signed; None for anything else."""
    try:
        data = read_regular(path, _MOST_BYTES)
        inside = unpack(data, text=False)
        checked = check(data, inside, {})
        content = next(one.content() for one in inside.attached if one.name == CONTENT_NAME)
        told = json.loads(content)["certificate"]
        sha256 = hashlib.sha256(content).hexdigest()
        unit = (str(told["tag"]), str(told["received_at"]))
        about = (str(told["number"]), unit[0], str(told["issued_at"]), sha256, hashlib.sha256(data).hexdigest())
    except (OSError, InputError, StopIteration, ValueError, TypeError, KeyError, RecursionError):
        return None
    if checked.verdict not in (Verdict.UNKNOWN_KEY, Verdict.NOT_SIGNED):
        return None
    return Found(Entry(*about, checked.fingerprint, "genuine"), unit, checked.verdict is Verdict.UNKNOWN_KEY)


# --- what follows -------------------------------------------------------------------------------------


def with_what_is_known(entries: Sequence[Entry], units: Sequence[tuple[str, str]], more: Beside) -> tuple[Entry, ...]:
    """The entries of a list that says no less than is known: a withdrawal that the records forgot stays one, and what
    they do not know of a unit stands in its order. `units`: of the `entries`."""
    back = {one.content_sha256: one for one in more.forgotten}
    every = [*(back.get(one.content_sha256, one) for one in entries), *more.lost]
    whose = [*units, *more.units]
    latest: dict[tuple[str, str], Entry] = {}
    for one, unit in zip(every, whose, strict=True):
        if unit != ("", "") and (unit not in latest or latest[unit].at <= one.at):
            latest[unit] = one
    lost = {unit for unit in more.units if unit != ("", "")}
    return tuple(
        replace(one, state="replaced", replaced_by=latest[unit].number)
        if unit in lost and one.state == "genuine" and latest[unit] is not one
        else one
        for one, unit in zip(every, whose, strict=True)
    )


def told_of(more: Beside, folder: Path) -> tuple[str, ...]:
    """What a person has to know of it, in sentences."""
    lost = [words.LOST.format(numbers=_numbers(more.lost), folder=folder)] if more.lost else []
    day = figures.day(more.listed_at) if more.listed_at else ""
    return (
        *lost,
        *(
            words.FORGOTTEN.format(number=one.number, tag=one.tag, day=day, reason=one.reason.rstrip("."))
            for one in more.forgotten
        ),
    )


def _numbers(entries: Sequence[Entry]) -> str:
    if len(entries) <= _NAMED:
        return grammar.listed([one.number for one in entries])
    return words.FROM_TO.format(first=entries[0].number, last=entries[-1].number, count=len(entries))
