"""Join the records of another bench into these: rows by their ids, files by their hashes, logs side by side.

A row that is here already is not added again, so merging twice changes nothing. Of a lot or unit that both know, the
later change holds (the other stays in the log); of a rest date the later one. A visit whose number another visit of
the unit has gets the next free number. Settings stay those of this bench.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from station.capture.regular import is_regular, open_regular
from station.capture.text import visible
from station.errors import InputError, RecordCorrupt
from station.records import copies, counted, files, foreign, queries, shape, states, withdrawing
from station.records.backup import first_problem
from station.records.connection import connect, version_of
from station.records.faults import told_plainly
from station.records.kept import refresh
from station.records.old_file import bring_up_to_date
from station.records.rows import Row, read_plain
from station.records.rules import RestRule, rest_asked
from station.records.search import search_text
from station.records.types import GONE, Treatment, Unit
from station.records.verify import verify
from station.words import common, figures, grammar
from station.words import records as words

MOST_CAPTURE_BYTES = 1_200_000_000
"""as large as a capture may be (`station.capture.npz`)"""
_MOST_TOLD = 300
_NEW_ENTRY = "NOT EXISTS (SELECT 1 FROM main.log m WHERE m.bench_id = o.bench_id AND m.seq = o.seq AND m.hash = o.hash)"


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What came in. `missing`: captures and photos that the other records name but do not have, or have damaged."""

    units: int
    visits: int
    results: int
    treatments: int
    files: int
    missing: tuple[str, ...] = ()
    double_tags: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()

    def sentence(self) -> str:
        """The whole in one or two sentences."""
        added = {name: getattr(self, name) for name in ("units", "visits", "results", "treatments")}
        said = [words.MERGED.format(**_counts(added, self.files))]
        if self.missing:
            said.append(grammar.plural(len(self.missing), words.MISSING_OVER_THERE).format(count=len(self.missing)))
        return " ".join((*said, *_double(self.double_tags)))


@dataclass(frozen=True, slots=True)
class Change:
    """A column of a lot or unit that both have, and what it becomes; or the end of a visit; or that a row is withdrawn
    (`column`: what it is, `after`: the reason), with a `before` that its withdrawal is taken back."""

    table: str
    row_id: str
    name: str
    column: str
    before: str
    after: str

    def sentence(self) -> str:
        if self.column == "number":
            return words.WOULD_COUNT.format(name=visible(self.name), before=self.before, after=self.after)
        if self.table == "withdrawals":
            what = words.WITHDRAWN_WHAT[self.column]
            template = words.WOULD_COUNT_AGAIN if self.before else words.WOULD_WITHDRAW
            if self.column == "lot":
                template = words.LOT_WOULD_COUNT_AGAIN if self.before else words.WOULD_WITHDRAW_LOT
            return template.format(name=visible(self.name), what=what, reason=visible(self.after))
        if self.table == "visits":
            return words.WOULD_END.format(name=visible(self.name), number=self.before, at=figures.when(self.after))
        column = words.COLUMN_NAMES.get(self.column, self.column)
        table = words.TABLE_NAMES[self.table]
        return words.WOULD_CHANGE.format(
            table=table,
            name=visible(self.name),
            column=column,
            before=visible(self.before),
            after=visible(self.after),
        )


@dataclass(frozen=True, slots=True)
class MergePreview:
    """What a merge would do: rows that would come in by table, captures and photos, and what would change."""

    added: Mapping[str, int]
    files: int
    changes: tuple[Change, ...]
    double_tags: tuple[str, ...] = ()
    in_our_name: int = 0
    """entries under a bench of this place that are not here and do not lie among its own back-ups: so it is after an
    older back-up was put back, or else somebody wrote them"""
    other_standing: tuple[str, ...] = ()
    """tags of the units here whose standing results would then be others"""

    @property
    def nothing(self) -> bool:
        return not (any(self.added.values()) or self.files or self.changes)

    @property
    def log_alone(self) -> bool:
        """Nothing would come in but entries of their log."""
        rows = any(count for table, count in self.added.items() if table != "log")
        return not (rows or self.files or self.changes or self.in_our_name)

    def lines(self) -> tuple[str, ...]:
        """One sentence each: what would come in, then each change."""
        if self.nothing:
            return (words.NOTHING_NEW,)
        if self.log_alone:
            return (words.LOG_ALONE,)
        return (
            words.WOULD_COME.format(**_counts(self.added, self.files)),
            *(change.sentence() for change in self.changes),
            *_double(self.double_tags),
            *self._in_our_name(),
        )

    def _in_our_name(self) -> Iterator[str]:
        if self.in_our_name:
            yield grammar.plural(self.in_our_name, words.IN_OUR_NAME).format(count=self.in_our_name)
        if self.other_standing:
            yield words.OTHER_STANDING.format(tags=grammar.COMMA.join(map(visible, self.other_standing)))


def _counts(added: Mapping[str, int], count: int) -> dict[str, str]:
    return {
        "units": grammar.count_of(added["units"], common.UNITS),
        "visits": grammar.count_of(added["visits"], words.VISITS),
        "results": grammar.count_of(added["results"], words.RESULTS),
        "treatments": grammar.count_of(added["treatments"], words.TREATMENTS),
        "files": grammar.count_of(count, words.FILES),
    }


def _double(tags: tuple[str, ...]) -> tuple[str, ...]:
    if not tags:
        return ()
    return (grammar.plural(len(tags), words.DOUBLE_TAGS).format(tags=grammar.COMMA.join(map(visible, tags))),)


# --- the other file -------------------------------------------------------------------------------------


@contextmanager
def snapshot(path: Path, beside: Path) -> Iterator[Path]:
    """A copy of the other records as they are now, brought to our version, in a temporary folder of ours.

    InputError or RecordError unless it is whole, made as we make it, and no larger than MOST_BYTES.
    """
    with tempfile.TemporaryDirectory(prefix=".merge-", dir=beside) as folder, told_plainly(path):
        copy = Path(folder) / "other.db"
        copies.need_room(path, beside)
        copies.copy_records(path, copy)
        db = connect(copy, read_only=False, busy_ms=0)
        with closing(db), copies.bounded(db, path):
            db.execute("PRAGMA trusted_schema = OFF")
            db.execute("PRAGMA cell_size_check = ON")
            version = version_of(db, path)
            if version == 0:
                raise InputError(words.OTHER_EMPTY.format(file=path))
            if found := shape.differences(db, version):
                raise InputError(words.OTHER_NOT_OURS.format(file=path, found=shape.told(found)))
            if db.execute("PRAGMA encoding").fetchone()[0] != "UTF-8":
                raise InputError(words.OTHER_NOT_OURS.format(file=path, found=words.NOT_IN_FORM))
            if problem := first_problem(db):
                raise RecordCorrupt(words.OTHER_DAMAGED.format(file=path, problem=problem))
            bring_up_to_date(db)
        yield copy


def sweep(folder: Path, older_than_s: float = 3_600) -> None:
    """Remove the copies that a merge left which was cut short; younger ones may be in use."""
    before = time.time() - older_than_s
    for left in folder.glob(".merge-*"):
        if left.is_dir() and left.stat().st_mtime < before:
            shutil.rmtree(left, ignore_errors=True)


def refuse_faulty_log(copy: Path) -> bool:
    """InputError unless the log of the records in this file holds, and their rows are as it says; whether it says so
    of every row that may change (not in a file of an earlier version)."""
    db = connect(copy, read_only=True, busy_ms=0)
    with closing(db), copies.bounded(db, copy):
        if faults := verify(db, None).faults:
            raise InputError(words.OTHER_LOG.format(fault=_brief(faults[0])))
        return states.are_kept(db)


# --- captures and photos ----------------------------------------------------------------------------------

_MOST = {"captures": MOST_CAPTURE_BYTES, "photos": files.MAX_PHOTO_BYTES}


@dataclass(frozen=True, slots=True)
class Wanted:
    """A capture or photo that `other` names and `main` does not have; `source` None: it is not there either."""

    folder: str
    sha256: str
    source: Path | None


def wanted_files(db: sqlite3.Connection, other_root: Path, root: Path) -> tuple[Wanted, ...]:
    """The captures and photos that the rows of `other` (attached) name and that are not here yet."""
    if not (other_root / "captures").is_dir() and other_root.name == "backups":
        other_root = other_root.parent
    named = [("captures", r[0]) for r in db.execute("SELECT DISTINCT capture_sha256 FROM other.results")]
    named += [("photos", r[0]) for r in db.execute("SELECT DISTINCT photo_sha256 FROM other.notes")]
    return tuple(
        Wanted(folder, sha256, _source(other_root / folder, sha256, folder))
        for folder, sha256 in named
        if sha256 and not any(path.exists() for path in files.places(root / folder, sha256, folder))
    )


def _source(root: Path, sha256: str, folder: str) -> Path | None:
    return next((path for path in files.places(root, sha256, folder) if is_regular(path)), None)


def copy_files(wanted: Iterable[Wanted], root: Path) -> tuple[int, tuple[str, ...]]:
    """Bring them; (how many came, which could not). All are taken away again if that fails. Raises OSError."""
    came: list[Path] = []
    missing: list[str] = []
    try:
        for one in wanted:
            target = _bring(one, root)
            if target is None:
                missing.append(one.sha256)
            else:
                came.append(target)
    except BaseException:
        for path in came:
            path.unlink(missing_ok=True)
        raise
    return len(came), tuple(missing)


def _bring(wanted: Wanted, root: Path) -> Path | None:
    """Where it lies now; None if it is not there, or not what its name says. Hashed while it is copied, so that it
    cannot change in between, and in pieces: a capture may be large."""
    if wanted.source is None:
        return None
    most = _MOST[wanted.folder]
    target = files.path_for(root / wanted.folder, wanted.sha256, wanted.source.suffix)
    try:
        with open_regular(wanted.source) as source:
            if source.seek(0, os.SEEK_END) > most:
                return None
            source.seek(0)
            if wanted.folder == "photos" and files.picture_suffix(source.read(16)) != target.suffix:
                return None
            source.seek(0)
            target.parent.mkdir(parents=True, exist_ok=True)
            return target if files.copy_known(source, target, wanted.sha256, most) else None
    except (InputError, files.UnreadableError):
        return None
    except OSError as fault:
        if fault.filename is not None and Path(fault.filename) == wanted.source:
            return None  # over there; to us it is missing
        raise


# --- the rows ------------------------------------------------------------------------------------------------


def refuse_unsound(db: sqlite3.Connection, copy: Path, now: str) -> None:
    """InputError unless every row of the attached `other` can be believed, and its log holds."""
    foreign.refuse_unsound(db, now)
    foreign.refuse_uncounted(db)
    foreign.refuse_contradiction(db)
    if not refuse_faulty_log(copy):
        foreign.refuse_unlogged(db)


def _brief(fault: str) -> str:
    """A fault inside a sentence; what it names may be as long as somebody liked."""
    text = visible(fault).rstrip(".")
    return text if len(text) <= _MOST_TOLD else text[:_MOST_TOLD] + "…"


def refuse_broken_log(db: sqlite3.Connection, before: Callable[[], tuple[str, ...]]) -> None:
    """InputError if the log of `main` with what came in has faults that it had not `before`."""
    if faults := set(verify(db, None).faults).difference(before()):
        raise InputError(words.WOULD_BREAK_LOG.format(fault=_brief(min(faults))))


def in_our_name(db: sqlite3.Connection, own_bench: str, own_place: str) -> int:
    """How many entries of the attached `other` stand under this bench, or one that names its place, and are not
    here."""
    ours = "SELECT id FROM main.benches WHERE place = ?2 UNION SELECT id FROM other.benches WHERE place = ?2"
    asked = f"SELECT count(*) FROM other.log o WHERE (bench_id = ?1 OR bench_id IN ({ours})) AND {_NEW_ENTRY}"
    return int(db.execute(asked, (own_bench, own_place)).fetchone()[0])


Standing = Mapping[str, frozenset[tuple[Any, ...]]]
"""unit → its checks, each with control, outcome and try that stand"""


def standing(db: sqlite3.Connection) -> Standing:
    """What stands for each unit here."""
    found: dict[str, set[tuple[Any, ...]]] = {}
    for unit_id, *stands in db.execute("SELECT unit_id, check_name, control, outcome, result_id FROM standing_results"):
        found.setdefault(unit_id, set()).add(tuple(stands))
    return {unit_id: frozenset(stands) for unit_id, stands in found.items()}


def other_standing(db: sqlite3.Connection, before: Standing) -> tuple[str, ...]:
    """The tags of units of which now something else stands than `before`, in their order."""
    refresh(db)
    now = standing(db)
    return tuple(
        tag
        for unit, tag in db.execute("SELECT id, tag FROM units ORDER BY seq")
        if unit in before and now.get(unit) != before[unit]
    )


def join(
    db: sqlite3.Connection, own_bench: str, own_place: str, rule: RestRule
) -> tuple[dict[str, int], tuple[Change, ...], bool]:
    """`join_rows`, and what it changed in rows that were here before. `rule`: which rest is asked for."""
    before = {table: _known_to_both(db, table) for table in ("lots", "units")}
    before["units"] += _resting(db, {row["id"] for row in before["units"]})
    ended, taken_back = _ending_visits(db), list(_withdrawing(db))
    numbers = dict(db.execute("SELECT id, number FROM main.visits").fetchall())
    added, afresh = join_rows(db, own_bench, own_place, rule)
    changes = [change for table, rows in before.items() for change in _changes(db, table, rows)]
    return added, (*changes, *ended, *taken_back, *_renumbered(db, numbers)), afresh


def _known_to_both(db: sqlite3.Connection, table: str) -> list[Row]:
    """Rows that both have and that differ, as they are here."""
    columns = [c for c in _columns(db, table) if c not in ("changed_at", "search_text")]
    same = " AND ".join(" IS ".join((f"m.{c}", f"o.{c}")) for c in columns)
    rows = db.execute(
        f"SELECT {', '.join('m.' + c for c in columns)} FROM main.{table} m, other.{table} o "
        f"WHERE o.id = m.id AND NOT ({same}) ORDER BY m.seq"
    )
    return [dict(zip(columns, row, strict=True)) for row in rows]


def _resting(db: sqlite3.Connection, known: Collection[str]) -> list[Row]:
    """The rest dates of other units that it may change."""
    asked = "SELECT id, tag, rest_until FROM main.units ORDER BY seq"
    wanted = set(_units_treated_otherwise(db)).difference(known)
    return [{"id": i, "tag": tag, "rest_until": until} for i, tag, until in db.execute(asked) if i in wanted]


def _changes(db: sqlite3.Connection, table: str, before: Iterable[Row]) -> Iterator[Change]:
    for row in before:
        now = db.execute(f"SELECT {', '.join(row)} FROM main.{table} WHERE id = ?", (row["id"],)).fetchone()
        for (column, had), has in zip(row.items(), now, strict=True):
            if had != has:
                name = row["name" if table == "lots" else "tag"]
                yield Change(table, row["id"], name, column, _said(had), _said(has))


def _said(value: Any) -> str:
    return "" if value is None else str(value)


def _renumbered(db: sqlite3.Connection, before: Mapping[str, int]) -> Iterator[Change]:
    for visit_id, tag, number in db.execute(
        "SELECT v.id, u.tag, v.number FROM main.visits v JOIN main.units u ON u.id = v.unit_id ORDER BY v.seq"
    ):
        if (had := before.get(visit_id, number)) != number:
            yield Change("visits", visit_id, tag, "number", str(had), str(number))


_TAG = "SELECT tag FROM units WHERE id = ({unit})"
_NAME_OF_ROW = {
    "result": _TAG.format(
        unit="SELECT v.unit_id FROM results r JOIN visits v ON v.id = r.visit_id WHERE r.id = w.row_id"
    ),
    "treatment": _TAG.format(unit="SELECT unit_id FROM treatments WHERE id = w.row_id"),
    "comeback": _TAG.format(unit="SELECT unit_id FROM comebacks WHERE id = w.row_id"),
    "note": _TAG.format(unit="SELECT unit_id FROM notes WHERE id = w.row_id"),
    "part": _TAG.format(unit="SELECT source_unit_id FROM shelf_parts WHERE id = w.row_id"),
    "unit": _TAG.format(unit="w.row_id"),
    "override": _TAG.format(unit="SELECT unit_id FROM overrides WHERE id = w.row_id"),
    "move": _TAG.format(unit="SELECT unit_id FROM shelf_moves WHERE id = w.row_id"),
    "certificate": _TAG.format(unit="SELECT unit_id FROM certificates WHERE id = w.row_id"),
    "lot": "SELECT name FROM lots WHERE id = w.row_id",
}
"""what a withdrawal is of → what its row is told by: the tag of its unit, the name of the lot"""


def _withdrawing(db: sqlite3.Connection) -> Iterator[Change]:
    """What is here and counts, and would be withdrawn; and what counts again since its withdrawal was taken back."""
    new = "w.id NOT IN (SELECT id FROM main.withdrawals)"
    for what, name_of in _NAME_OF_ROW.items():
        table = counted.table_of(what)
        there = f"w.row_id IN (SELECT id FROM main.{table} WHERE {counted.counting(table)})"
        taken_back = "w.id NOT IN (SELECT row_id FROM other.withdrawals WHERE what = 'withdrawal')"
        rows = db.execute(
            f"SELECT w.row_id, w.reason, ({name_of}) FROM other.withdrawals w "
            f"WHERE w.what = ? AND {new} AND {there} AND {taken_back} ORDER BY w.at, w.id",
            (what,),
        )
        for row_id, reason, name in rows:
            yield Change("withdrawals", row_id, _said(name), what, "", str(reason))
        again = db.execute(
            f"SELECT w.row_id, b.reason, ({name_of}) FROM main.withdrawals w "
            f"JOIN other.withdrawals b ON b.what = 'withdrawal' AND b.row_id = w.id "
            f"WHERE w.what = ? AND {counted.in_force('w')} ORDER BY w.at, w.id",
            (what,),
        )
        for row_id, reason, name in again:
            yield Change("withdrawals", row_id, _said(name), what, words.COUNTS_AGAIN, str(reason))


def _ending_visits(db: sqlite3.Connection) -> list[Change]:
    rows = db.execute(
        "SELECT v.id, u.tag, v.number, o.finished_at FROM main.visits v JOIN other.visits o ON o.id = v.id "
        "JOIN main.units u ON u.id = v.unit_id WHERE v.finished_at = '' AND o.finished_at <> '' ORDER BY v.seq"
    )
    return [Change("visits", row[0], row[1], "finished_at", str(row[2]), row[3]) for row in rows]


def join_rows(db: sqlite3.Connection, own_bench: str, own_place: str, rule: RestRule) -> tuple[dict[str, int], bool]:
    """Add the rows of the attached `other`, inside the caller's transaction.

    Returns (table → rows added, whether a new log must begin here: the other had carried on our own, or names a bench
    at our place that we do not know).
    """
    db.execute("PRAGMA defer_foreign_keys = ON")
    at_our_place = "SELECT 1 FROM other.benches WHERE place = ? AND id NOT IN (SELECT id FROM main.benches)"
    taken = db.execute(at_our_place, (own_place,)).fetchone() is not None
    _insert_new(db, "benches", "id")
    new_units = _new_ids(db, "units")
    bearing = _units_treated_otherwise(db)
    added = {table: _insert_new(db, table, "id") for table in ("lots", "units", "treatments", "withdrawals")}
    for table in ("lots", "units"):
        _take_later(db, table)
    _make_searchable(db, new_units)
    added["visits"] = _insert_new(db, "visits", "id")
    _renumber(db)
    db.execute(
        "UPDATE visits SET finished_at = o.finished_at FROM other.visits o "
        "WHERE o.id = visits.id AND visits.finished_at = '' AND o.finished_at <> ''"
    )
    new_results = "result_id NOT IN (SELECT id FROM main.results)"
    for table in ("readings", "findings"):
        added[table] = _insert_new(db, table, None, new_results)
    for table in ("results", "notes", "overrides", "comebacks", "shelf_parts", "shelf_moves", "certificates"):
        added[table] = _insert_new(db, table, "id")
    _rest_anew(db, bearing, rule)
    carried_on = db.execute(
        f"SELECT 1 FROM other.log o WHERE bench_id = ? AND {_NEW_ENTRY} LIMIT 1", (own_bench,)
    ).fetchone()
    added["log"] = _insert_new(db, "log", None, _NEW_ENTRY, order="entry")
    return added, taken or carried_on is not None


def _columns(db: sqlite3.Connection, table: str) -> list[str]:
    """All columns but the local counters."""
    names = [r[1] for r in db.execute(f"PRAGMA main.table_info({table})")]
    return [n for n in names if not (n == "entry" or (n == "seq" and table != "log"))]


def _insert_new(db: sqlite3.Connection, table: str, key: str | None, where: str = "", order: str = "") -> int:
    columns = ", ".join(_columns(db, table))
    new = where or f"{key} NOT IN (SELECT {key} FROM main.{table})"
    cursor = db.execute(
        f"INSERT INTO main.{table} ({columns}) SELECT {columns} FROM other.{table} o WHERE {new} "
        f"ORDER BY {order or ('rowid' if key else '1')}"
    )
    return int(cursor.rowcount)


def _new_ids(db: sqlite3.Connection, table: str) -> list[str]:
    return [
        r[0]
        for r in db.execute(f"SELECT id FROM other.{table} WHERE id NOT IN (SELECT id FROM main.{table}) ORDER BY seq")
    ]


_TREATMENT_WITHDRAWN = f"SELECT unit_id FROM main.treatments WHERE id IN ({counted.withdrawn('treatments')})"
"""units whose rest date may become an earlier one: what asked for it was withdrawn"""


def _units_treated_otherwise(db: sqlite3.Connection) -> list[str]:
    """Units of which a treatment, a withdrawal of one, or a later state comes in."""
    withdrawals = "SELECT row_id FROM other.withdrawals WHERE id NOT IN (SELECT id FROM main.withdrawals)"
    taken_back = f"SELECT row_id FROM other.withdrawals WHERE id IN ({withdrawals})"
    rows = db.execute(
        "SELECT id FROM other.units WHERE id IN ("
        "SELECT unit_id FROM other.treatments WHERE id NOT IN (SELECT id FROM main.treatments) UNION "
        f"SELECT unit_id FROM other.treatments WHERE id IN ({withdrawals}) OR id IN ({taken_back}) UNION "
        f"SELECT unit_id FROM main.treatments WHERE id IN ({withdrawals}) OR id IN ({taken_back}) UNION "
        "SELECT o.id FROM other.units o JOIN main.units m ON m.id = o.id AND o.changed_at > m.changed_at) ORDER BY seq"
    )
    return [row[0] for row in rows]


def _rest_anew(db: sqlite3.Connection, units: Iterable[str], rule: RestRule) -> None:
    """The rest date of units of which a treatment was withdrawn: without what that asked for, and not before what those
    ask for that count, unless somebody gave a reason for cutting it short."""
    free = {row[0] for row in db.execute(_TREATMENT_WITHDRAWN)}
    for unit_id in units:
        if unit_id not in free:
            continue
        (unit,) = read_plain(db, Unit, "id = ?", (unit_id,))
        every = read_plain(db, Treatment, "unit_id = ? ORDER BY at, seq", (unit_id,))
        left = queries.treatments_of(db, unit_id)
        until = withdrawing.rest_without(db, unit, every, left, rule)
        if not queries.override(db, unit_id):
            until = max(until, rest_asked(db, left, rule))
        if until != unit.rest_until:
            db.execute("UPDATE main.units SET rest_until = ? WHERE id = ?", (until, unit_id))


def _take_later(db: sqlite3.Connection, table: str) -> None:
    """Of rows that both have, the one changed later; of rest dates the later, but for a unit of which a treatment was
    withdrawn."""
    columns = [c for c in _columns(db, table) if c not in ("id", "rest_until")]
    sets = ", ".join(f"{c} = o.{c}" for c in columns)
    if table == "units":
        db.execute(
            "UPDATE units SET rest_until = o.rest_until FROM other.units o WHERE o.id = units.id "
            f"AND o.rest_until < units.rest_until AND o.changed_at > units.changed_at "
            f"AND units.id IN ({_TREATMENT_WITHDRAWN})"
        )
        db.execute(
            "UPDATE units SET rest_until = o.rest_until FROM other.units o WHERE o.id = units.id "
            "AND o.rest_until > units.rest_until AND (o.changed_at >= units.changed_at "
            f"OR units.id NOT IN ({_TREATMENT_WITHDRAWN}))"
        )
    db.execute(
        f"UPDATE {table} SET {sets} FROM other.{table} o WHERE o.id = {table}.id AND o.changed_at > {table}.changed_at"
    )


def _make_searchable(db: sqlite3.Connection, new_units: list[str]) -> None:
    """What the search index is made of is worked out here, whatever came with the row."""
    changed = [
        r[0]
        for r in db.execute(
            "SELECT m.id FROM main.units m JOIN other.units o ON o.id = m.id AND o.changed_at = m.changed_at"
        )
    ]
    for unit_id in dict.fromkeys((*new_units, *changed)):
        (unit,) = read_plain(db, Unit, "id = ?", (unit_id,))
        db.execute(
            "UPDATE main.units SET search_text = ?1 WHERE id = ?2 AND search_text <> ?1", (search_text(unit), unit_id)
        )


def _renumber(db: sqlite3.Connection) -> None:
    """Where both gave one number to two visits of a unit, or two numbers to one visit, its visits are counted anew in
    the order in which they began: so every bench comes to the same numbers, whoever merges first."""
    twice = "SELECT unit_id FROM main.visits GROUP BY unit_id, number HAVING count(*) > 1"
    otherwise = "SELECT m.unit_id FROM main.visits m JOIN other.visits o ON o.id = m.id AND o.number <> m.number"
    for (unit_id,) in db.execute(f"{twice} UNION {otherwise}").fetchall():
        visits = db.execute(
            "SELECT id, number FROM main.visits WHERE unit_id = ? ORDER BY started_at, id", (unit_id,)
        ).fetchall()
        for number, (visit_id, had) in enumerate(visits, 1):
            if number != had:
                db.execute("UPDATE main.visits SET number = ? WHERE id = ?", (number, visit_id))


def double_tags(db: sqlite3.Connection) -> tuple[str, ...]:
    """Tags on more than one unit that is still here."""
    marks = ", ".join("?" * len(GONE))
    here = f"becomes NOT IN ({marks}) AND {counted.counting('units')}"
    rows = db.execute(f"SELECT tag FROM units WHERE {here} GROUP BY tag COLLATE NOCASE HAVING count(*) > 1", GONE)
    return tuple(r[0] for r in rows)
