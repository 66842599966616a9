"""What `crash.py` kills besides work: a merge, the sharing of records, a restore, a migration, a certificate.

Each kind has a folder of its own and what must hold after a kill, whatever moment it came at: all of it or nothing.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from station.certificate.signature import find_seal
from station.records import schema
from station.records.store import FILE_NAME, Store
from station.records.types import Lot, Note, ShelfPart, Treatment
from tests.records.old_files import as_version
from tests.records.records_kit import PASSED, a_result, a_unit, open_store, restore_records

Step = Callable[[Path], None]
Check = Callable[[Path], list[str]]


def work_on(store: Store, tags: list[str]) -> None:
    """A little of everything for each tag."""
    for tag in tags:
        lot = store.add_lot(Lot("", f"lot of {tag}", "2026-03-02"))
        unit = store.add_unit(replace(a_unit(tag), lot_id=lot.id))
        visit = store.start_visit(unit.id, "intake")
        store.add_result(a_result(visit.id, "contact", PASSED, capture_sha256=store.keep_capture(tag.encode() * 2000)))
        store.finish_visit(visit.id)
        store.add_treatment(Treatment("", unit.id, "adjust", ""))
        store.add_note(Note("", unit.id, "", tag, photo_sha256=store.keep_photo(b"\xff\xd8\xff" + tag.encode() * 500)))
        store.add_shelf_part(ShelfPart("", f"part of {tag}", "Plover T2", 1))


def sound(folder: Path) -> list[str]:
    """What the file, its log, its captures and photos say. Opening is done as the program does it."""
    with open_store(folder) as store:
        problem = store.first_problem()
        return [*([problem] if problem else []), *store.verify_log().faults]


def tags_in(folder: Path) -> set[str]:
    with open_store(folder) as store:
        return {unit.tag for unit in store.units(limit=10_000)}


OURS, THEIRS = [f"A-{n}" for n in range(4)], [f"B-{n}" for n in range(40)]


def make_two(folder: Path) -> None:
    for name, tags in (("ours", OURS), ("theirs", THEIRS)):
        with open_store(folder / name) as store:
            work_on(store, tags)


def merge(folder: Path) -> None:
    with open_store(folder / "ours") as store:
        store.merge(folder / "theirs")


def merged(folder: Path) -> list[str]:
    found = tags_in(folder / "ours")
    half = [] if found in (set(OURS), {*OURS, *THEIRS}) else [f"half a merge: {len(found)} units"]
    return half + sound(folder / "ours") + sound(folder / "theirs")


def share(folder: Path) -> None:
    (folder / "shared").mkdir(exist_ok=True)
    with open_store(folder / "theirs") as store:
        store.share(folder / "shared")


def shared(folder: Path) -> list[str]:
    """A database that came into place is whole, and so is every file that did; another bench takes it in."""
    faults: list[str] = sound(folder / "theirs")
    for there in (folder / "shared").glob(f"bench-*/{FILE_NAME}"):
        with open_store(folder / "ours") as store:
            report = store.merge(there.parent)
        if report is None or report.missing:
            faults.append(f"what was shared lacks {report and len(report.missing)} files")
    return faults + sound(folder / "ours")


def make_restore(folder: Path) -> None:
    with open_store(folder / "ours") as store:
        work_on(store, OURS)
        shutil.copyfile(store.daily_backup(), folder / "back-up.db")
        work_on(store, THEIRS)


def restore(folder: Path) -> None:
    restore_records(folder / "ours", folder / "back-up.db")


def restored(folder: Path) -> list[str]:
    """The records of before or those of the back-up; those of before are then set aside, whole."""
    faults, path = [], folder / "ours" / FILE_NAME
    aside = sorted((folder / "ours" / "backups").glob("*-before-restore*.db"))
    if not path.exists():  # set aside, the other not in place yet: said when it is opened, and nothing is lost
        try:
            open_store(folder / "ours").close()
            faults.append("records that were set aside were begun anew")
        except Exception as error:  # noqa: BLE001
            if "back" not in str(error):
                faults.append(f"not told what to do: {error}")
        restore(folder)
    found = tags_in(folder / "ours")
    if found == set(OURS):
        with closing(sqlite3.connect(aside[-1])) as db:
            if db.execute("SELECT count(*) FROM units").fetchone()[0] != len(OURS) + len(THEIRS):
                faults.append("what was set aside is not whole")
    elif found != {*OURS, *THEIRS}:
        faults.append(f"half a restore: {len(found)} units")
    return faults + sound(folder / "ours")


def make_old(folder: Path) -> None:
    """Records as version 2 wrote them."""
    with open_store(folder / "ours") as store:
        work_on(store, [*OURS, *THEIRS])
    as_version(folder / "ours", 2)


def migrate(folder: Path) -> None:
    open_store(folder / "ours").close()


def migrated(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "ours" / FILE_NAME)) as db:
        version = db.execute("PRAGMA user_version").fetchone()[0]
        kept = db.execute("SELECT count(*) FROM log WHERE instr(event, 'states kept')").fetchone()[0]
    half = [] if (version, kept) in ((2, 0), (schema.newest_version(), 1)) else [f"half a migration: {version}, {kept}"]
    found = tags_in(folder / "ours")
    return half + sound(folder / "ours") + ([] if found == {*OURS, *THEIRS} else ["units are lost"])


def make_certified(folder: Path) -> None:
    with open_store(folder / "ours") as store:
        work_on(store, OURS)


def certify(folder: Path) -> None:
    from PySide6.QtWidgets import QApplication

    from station.app.certify import certify as write
    from station.sheets.model import Control, Place, Sheet

    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    os.environ["RESTPOINT_DATA"] = str(folder / "ours")
    app = QApplication.instance() or QApplication([])
    stick = Control("left_stick", "button", "Left", "top", at=Place(0x90001))
    with open_store(folder / "ours") as store:
        for unit in store.units():
            write(store, unit.id, Sheet("Plover T2", controls=(stick,)), now=store.now())
    del app


def certified(folder: Path) -> list[str]:
    """Every certificate that has its name is whole and sealed by one and the same key."""
    seals = [find_seal(path.read_bytes()) for path in (folder / "ours" / "certificates").glob("*.pdf")]
    whole = all(seal is not None and seal.holds and not seal.added for seal in seals)
    one_key = len({seal.public for seal in seals if seal is not None}) <= 1
    return (
        ([] if whole else ["a certificate that is not whole"])
        + ([] if one_key else ["two keys"])
        + sound(folder / "ours")
    )


KINDS: dict[str, tuple[Step, Step, Check]] = {
    "merge": (make_two, merge, merged),
    "sync": (make_two, share, shared),
    "restore": (make_restore, restore, restored),
    "migration": (make_old, migrate, migrated),
    "certificate": (make_certified, certify, certified),
}
"""kind → what is made first, what is killed, what must hold then"""
