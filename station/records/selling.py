"""A sold unit that comes back: the sale that it undoes is kept with it, and the unit is open again. Each function runs
inside the caller's transaction.

What is found of it is mostly known later, and a row never changes: then the first is withdrawn, and another says it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from sqlite3 import Connection
from typing import Any

from station.errors import InputError
from station.records import entries, withdrawing
from station.records.chain import Logged
from station.records.counted import counting, in_force
from station.records.entered import check_texts
from station.records.entries import Entry, get_unit
from station.records.rows import cleaned, digest, insert, read_plain, row_of
from station.records.types import FOUND, SAME_FAULT, Comeback, Withdrawal
from station.words import figures
from station.words import records as words

NewId = Callable[[], str]
OF_A_SALE = tuple(name for name in withdrawing.SALE if name != "becomes")
"""columns of a unit that a return takes over"""
_COUNTING = counting("comebacks")


def come_back(entry: Entry, new_id: NewId, comeback: Comeback) -> Comeback:
    """Add the return of a unit that is sold; the sale's figures are filled in from the unit, which is open again, and
    for the same fault the last treatment before the sale where none is named. A certificate that is named is withdrawn
    with it. InputError when it is not sold."""
    unit = get_unit(entry.db, comeback.unit_id)
    if unit.becomes != "sold":
        raise InputError(words.NOT_SOLD_SO_NOT_BACK.format(tag=unit.tag))
    sale: dict[str, Any] = {name: getattr(unit, name) for name in OF_A_SALE}
    comeback = replace(comeback, id=comeback.id or entry.new_id, at=comeback.at or entry.at[:10], **sale)
    if comeback.at[:10] < unit.sold_on[:10]:
        raise InputError(words.BACK_BEFORE_SALE.format(tag=unit.tag, day=figures.day(unit.sold_on)))
    _is_of_unit(entry.db, comeback)
    if comeback.certificate_id and _withdrawals_of(entry.db, comeback.certificate_id):
        comeback = replace(comeback, certificate_id=None)  # an earlier return, or somebody, has done that
    added = _add(entry, _with_cure(entry, comeback))
    withdrawing.put(entry, unit, {"becomes": "open", **_UNSOLD})
    if added.certificate_id:
        withdrawing.withdraw(entry, new_id, "certificate", added.certificate_id, added.reason, added.person)
    return added


def look_at(
    entry: Entry, new_id: NewId, comeback_id: str, found: str, treatment_id: str | None, person: str
) -> Comeback:
    """Say what was found of a unit that came back: the row that did not is withdrawn. InputError when it is not there,
    or says so already."""
    before = read_plain(entry.db, Comeback, f"id = ? AND {_COUNTING}", (comeback_id,))
    if not before:
        raise InputError(words.NOTHING_TO_WITHDRAW)
    now = replace(before[0], id=new_id(), found=found, treatment_id=treatment_id if found == SAME_FAULT else None)
    now = _with_cure(entry, now)
    if (now.found, now.treatment_id) == (before[0].found, before[0].treatment_id):
        raise InputError(words.ALREADY_SO)
    withdrawing.add(entry, new_id, "comeback", comeback_id, words.FOUND_SINCE.format(found=found), person)
    return _add(entry, now)


_UNSOLD: dict[str, Any] = {"sold_minor": 0, "sold_on": "", "channel": "", "fees_minor": 0, "shipping_minor": 0}


def _add(entry: Entry, comeback: Comeback) -> Comeback:
    comeback = cleaned(comeback)
    check_comeback(comeback)
    check_texts(**row_of(comeback))
    _is_of_unit(entry.db, comeback)
    row = row_of(comeback)
    insert(entry.db, "comebacks", row)
    entry.log(Logged.CAME_BACK, comeback.id, digest=digest({"comebacks": row}))
    return comeback


def check_comeback(comeback: Comeback) -> None:
    """InputError for one that cannot be."""
    entries.one_of(comeback.found, FOUND, words.NO_FOUND)
    entries.check_day(comeback.at, words.NO_RETURN_DATE)
    entries.check_day(comeback.sold_on, words.NO_SALE_DATE, may_be_empty=True)
    entries.not_negative(comeback.refund_minor, words.REFUND_BELOW_NOUGHT)
    entries.not_negative(comeback.cost_minor, words.RETURN_COST_BELOW_NOUGHT)
    entries.not_negative(comeback.sold_minor, words.UNIT_PRICE_BELOW_NOUGHT)
    entries.not_negative(comeback.fees_minor, words.FEES_BELOW_NOUGHT)
    entries.not_negative(comeback.shipping_minor, words.SHIPPING_BELOW_NOUGHT)
    if comeback.refund_minor > comeback.sold_minor:
        raise InputError(words.REFUND_ABOVE_PRICE)


def _with_cure(entry: Entry, comeback: Comeback) -> Comeback:
    """For the same fault: the last treatment before the unit was sold, where none is named. What was done to it since
    it came back cannot be what did not hold."""
    if comeback.found != SAME_FAULT or comeback.treatment_id:
        return comeback
    mine = f"unit_id = ? AND at <= ? AND {counting('treatments')}"
    asked = f"SELECT id FROM treatments WHERE {mine} ORDER BY at DESC, seq DESC"
    last = entry.db.execute(asked, (comeback.unit_id, _end_of(comeback.sold_on or comeback.at))).fetchone()
    return replace(comeback, treatment_id=last[0] if last else None)


def _end_of(day: str) -> str:
    return f"{day[:10]}T~"


def _is_of_unit(db: Connection, comeback: Comeback) -> None:
    """InputError for a treatment or certificate of another unit."""
    of_it = "SELECT 1 FROM certificates WHERE id = ? AND unit_id = ?"
    if comeback.certificate_id and not db.execute(of_it, (comeback.certificate_id, comeback.unit_id)).fetchone():
        raise InputError(words.NO_CERTIFICATE_OF_UNIT)
    asked = f"SELECT 1 FROM treatments WHERE id = ? AND unit_id = ? AND {counting('treatments')}"
    of_unit = (comeback.treatment_id, comeback.unit_id)
    if comeback.treatment_id and db.execute(asked, of_unit).fetchone() is None:
        raise InputError(words.NO_TREATMENT_OF_UNIT)


# --- taken back --------------------------------------------------------------------------------------------------


def withdraw(entry: Entry, new_id: NewId, comeback_id: str, reason: str, person: str) -> Withdrawal:
    """It did not come back after all: it is sold again as it was. InputError where it was sold again
    since, be it that it came back from there too."""
    found = read_plain(entry.db, Comeback, f"id = ? AND {_COUNTING}", (comeback_id,))
    if not found:
        raise InputError(words.NOTHING_TO_WITHDRAW)
    unit = get_unit(entry.db, found[0].unit_id)
    if unit.becomes == "sold":
        raise InputError(words.SOLD_AGAIN.format(tag=unit.tag))
    mine = read_plain(entry.db, Comeback, f"unit_id = ? AND {_COUNTING} ORDER BY at, seq", (unit.id,))
    if mine[-1].id != comeback_id:
        raise InputError(words.CAME_BACK_AGAIN.format(tag=unit.tag))
    done = withdrawing.add(entry, new_id, "comeback", comeback_id, reason, person)
    sale: dict[str, Any] = {name: getattr(found[0], name) for name in OF_A_SALE}
    withdrawing.put(entry, unit, {"becomes": "sold", **sale})
    if found[0].certificate_id:
        for one in _withdrawals_of(entry.db, found[0].certificate_id):
            withdrawing.take_back(entry, new_id, one.id, reason, person)
    return done


def _withdrawals_of(db: Connection, certificate_id: str) -> tuple[Withdrawal, ...]:
    return read_plain(db, Withdrawal, f"what = 'certificate' AND row_id = ? AND {in_force()}", (certificate_id,))


def take_back(entry: Entry, new_id: NewId, withdrawal: Withdrawal, reason: str, person: str) -> Withdrawal:
    """Take back that withdrawal: it came back. InputError where its sale is not the one that stands in the unit."""
    (comeback,) = read_plain(entry.db, Comeback, "id = ?", (withdrawal.row_id,))
    unit = get_unit(entry.db, comeback.unit_id)
    if unit.becomes != "sold" or any(getattr(unit, name) != getattr(comeback, name) for name in OF_A_SALE):
        raise InputError(words.NOT_SOLD_SO_NOT_BACK.format(tag=unit.tag))
    done = withdrawing.add(entry, new_id, "withdrawal", withdrawal.id, reason, person)
    withdrawing.put(entry, unit, {"becomes": "open", **_UNSOLD})
    if comeback.certificate_id and not _withdrawals_of(entry.db, comeback.certificate_id):
        withdrawing.withdraw(entry, new_id, "certificate", comeback.certificate_id, reason, person)
    return done
