"""Rest between a treatment and the second test: how long, and when a unit may be called ready."""

from __future__ import annotations

from sqlite_utils import Database

from station.errors import InputError
from station.records.clock import days_later
from station.records.types import TREATMENT_KINDS, Treatment, Unit
from station.words import figures
from station.words import records as words

DEFAULT_REST_DAYS = 3
MOST_REST_DAYS = 365
SECOND_TESTS = ("after rest", "final")
"""kinds of visit that count as the test after the rest"""


def rest_days_key(kind: str) -> str:
    """The setting that holds the days of rest after this kind of treatment."""
    return f"rest_days.{kind}"


def default_rest_days(kind: str) -> int:
    """Days of rest when the shop has set none: 3 after what cleaned or repaired (common practice, no source)."""
    return 0 if kind == "other" else DEFAULT_REST_DAYS


def rest_days(db: Database, kind: str) -> int:
    """Days of rest after this kind of treatment, as the shop set them."""
    row = db.execute("SELECT value FROM settings WHERE key = ?", (rest_days_key(kind),)).fetchone()
    return int(row[0]) if row else default_rest_days(kind)


def check_rest_setting(key: str, value: str) -> None:
    """InputError unless a `rest_days.…` setting names a kind of treatment and 0 to 365 whole days."""
    if not key.startswith(rest_days_key("")):
        return
    known = key.removeprefix(rest_days_key("")) in TREATMENT_KINDS
    if not known or not value.isascii() or not value.isdigit() or int(value) > MOST_REST_DAYS:
        raise InputError(words.NO_REST_DAYS.format(value=value, most=MOST_REST_DAYS, setting=key))


def rest_until(unit: Unit, treatment: Treatment, days: int) -> str:
    """The rest date of the unit after this treatment: the later of the one it has and the new one."""
    return max(unit.rest_until, days_later(treatment.at, days)) if days else unit.rest_until


SECOND_TEST_DONE = """EXISTS (
    SELECT 1 FROM visits v WHERE v.unit_id = units.id AND v.finished_at <> ''
    AND v.kind IN ('after rest', 'final') AND substr(v.started_at, 1, 10) >= units.rest_until
    AND EXISTS (SELECT 1 FROM results r WHERE r.visit_id = v.id))"""
"""SQL on `units`: a test was done on or after the rest date, and it has results"""


def why_not_ready(db: Database, unit_id: str, today: str) -> str:
    """Why the unit may not be called ready yet, one sentence; empty when it may."""
    row = db.execute(f"SELECT tag, rest_until, {SECOND_TEST_DONE} FROM units WHERE id = ?", (unit_id,)).fetchone()
    tag, until, done = row
    if not until or done:
        return ""
    if today < until:
        return words.STILL_RESTS.format(tag=tag, day=figures.day(until))
    return words.NOT_TESTED_AFTER_REST.format(tag=tag)
