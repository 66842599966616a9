"""The certificates that were written, by their numbers: each bench counts its own, from 1 without a gap.

A number is taken in the transaction that records the certificate, once its file lies on the disk: whoever has the next
number ready first takes it, the other one makes his file anew with the number after it.
"""

from __future__ import annotations

from dataclasses import replace
from sqlite3 import Connection

from station.errors import InputError
from station.records.chain import Logged
from station.records.entered import check_texts
from station.records.entries import Entry
from station.records.rows import digest, insert, plain, row_of
from station.records.types import Issued
from station.words import records as words

_SHORT = 6
"""digits of a bench's id that stand before its numbers"""


def next_number(db: Connection, bench_id: str, above: int = 0) -> int:
    """The number that the bench's next certificate gets; `above`: the highest that is known without the records."""
    (most,) = db.execute("SELECT coalesce(max(number), 0) FROM certificates WHERE bench_id = ?", (bench_id,)).fetchone()
    return max(int(most), above) + 1


def name_of(bench_id: str, number: int) -> str:
    """A number as it is printed. The last digits of a bench's id are random (RFC 9562, 5.7)."""
    return f"{bench_id.replace('-', '')[-_SHORT:].upper()}-{number:05d}"


def check(bench_id: str, number: int, name: str) -> None:
    """InputError for a number that is not printed as this bench's."""
    if not name.endswith(name_of(bench_id, number)):
        raise InputError(words.NO_SUCH_CERTIFICATE_NUMBER)


def add(entry: Entry, issued: Issued, above: int = 0) -> Issued | None:
    """Record a certificate under its number; None where another one took that meanwhile."""
    if issued.number != next_number(entry.db, entry.bench_id, above):
        return None
    row = replace(issued, id=entry.new_id, bench_id=entry.bench_id, at=entry.at, person=plain(issued.person))
    check_texts(person=row.person)
    check(row.bench_id, row.number, row.name)
    if not entry.db.execute("SELECT 1 FROM units WHERE id = ?", (row.unit_id,)).fetchone():
        raise InputError(words.NO_SUCH_UNIT)
    insert(entry.db, "certificates", row_of(row))
    entry.log(Logged.CERTIFICATE_ADDED, row.id, digest=digest({"certificates": row_of(row)}))
    return row
