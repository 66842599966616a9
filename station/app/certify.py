"""From the records to a certificate on disk: history, evidence read again, page, file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from station.app import paths
from station.app.certificate_pictures import pictures_of
from station.app.declared import beyond_of
from station.app.house import HouseFile
from station.app.issue import issue
from station.app.own_key import own_key_file
from station.app.shop import Shop, paper_of, shop_of
from station.bench.plan import plan
from station.bench.strengths import with_strengths
from station.bench.types import Step
from station.capture.file import read_capture
from station.certificate.content import build_certificate
from station.certificate.dials import dial_of
from station.certificate.keys import bench_key
from station.certificate.page import render_pdf
from station.certificate.signature import BenchKey
from station.certificate.summary import extras_in_words
from station.certificate.types import Certificate
from station.checks.house import House
from station.checks.registry import CHECKS, described
from station.checks.types import Limits, Progress
from station.errors import CaptureAltered, InputError, RecordError, StationError
from station.evidence.assess import takes_of
from station.judgement.claims import lack_of
from station.judgement.limits import in_force
from station.judgement.tries import standing, verdicts
from station.records.store import Store
from station.records.types import Result, UnitHistory
from station.sheets.model import Sheet
from station.sheets.write import absent_line
from station.words import desk as words


@dataclass(frozen=True, slots=True)
class Written:
    """Where a certificate is and whose key signed it; without a key it is unsigned and `problem` says why. `note`: what
    had to be left out of it."""

    path: Path
    fingerprint: str
    problem: str = ""
    note: str = ""


def certify(store: Store, unit_id: str, sheet: Sheet, *, now: str, house: House | None = None) -> Written:
    """Write the certificate of a unit, signed by the bench. Shop and person are those of the settings. InputError while
    the shop has no name, and where what is recorded of the unit is not what the log says. `house`: whose limits and
    grades (None: as the shop's file says now).

    Without its key it is written all the same and says that it is unsigned: the readings are worth having.
    """
    house = HouseFile(store.folder).now() if house is None else house
    shop = shop_of(store)
    if store.changed_past_log(unit_id):
        raise InputError(words.CHANGED_PAST_LOG.format(tag=store.unit(unit_id).tag))
    steps = steps_of(store.history(unit_id), sheet)
    paper = paper_of(store)
    key, problem = _bench_key(shop.name)
    pictures, photo, note = pictures_of(store, unit_id, shop.mark)

    def make(number: str) -> Certificate:
        return certificate_of(store, unit_id, sheet, steps, house, number=number, now=now, shop=shop, photo=photo)

    def render(content: Certificate) -> bytes:
        return render_pdf(content, key, paper, pictures)

    path = issue(store, unit_id, paths.certificates_folder(), key, make, render)
    return Written(path, key.fingerprint if key else "", problem, note or _to_be_named(store, unit_id, sheet))


def _to_be_named(store: Store, unit_id: str, sheet: Sheet) -> str:
    """What to do about controls that the unit says it has and the sheet does not name; empty where there are none."""
    unnamed = beyond_of(store, store.history(unit_id), sheet).unnamed
    if not unnamed:
        return ""
    line = absent_line(dict.fromkeys(one.usage for one in unnamed))
    return words.NOT_NAMED.format(sheet=sheet.name, extras=extras_in_words(unnamed), line=line)


def _bench_key(bench: str) -> tuple[BenchKey | None, str]:
    """This bench's key, or why there is none."""
    try:
        return bench_key(own_key_file(), paths.keys_folder(), bench), ""
    except RecordError as error:
        return None, str(error)


def steps_of(history: UnitHistory, sheet: Sheet) -> tuple[Step, ...]:
    """The plan of the model, with the presses of other strengths, done or skipped, that still speak of the unit."""
    return with_strengths(plan(sheet), standing(history.results).values())


def certificate_of(
    store: Store,
    unit_id: str,
    sheet: Sheet,
    steps: Sequence[Step],
    house: House,
    *,
    number: str,
    now: str,
    shop: Shop,
    photo: str = "",
) -> Certificate:
    """The certificate's content for a unit. InputError when no verdict stands, or it was withdrawn."""
    heads, history, limits = store.log_heads(), store.history(unit_id), in_force(sheet, house)
    stands = verdicts(history.results)
    if (taken_back := history.unit_withdrawn) is not None:
        raise InputError(words.UNIT_IS_WITHDRAWN.format(tag=history.unit.tag, reason=taken_back.reason.rstrip(".")))
    if lack := lack_of(history.results):
        raise InputError(words.NOTHING_STANDS[lack].format(tag=history.unit.tag))
    altered: set[str] = set()
    dials = [
        dial_of(control, found, _evidence(store, found, sheet, limits, altered), limits)
        for control in sheet.controls
        if control.kind == "stick" and (found := {check: r for (check, c), r in stands.items() if c == control.id})
    ]
    return build_certificate(
        history, steps, sheet, number=number, issued_at=now, bench=shop.name, person=shop.person, contact=shop.contact,
        photo_sha256=photo, declared=beyond_of(store, history, sheet),
        costs=shop.costs, dials=dials, log=heads, altered=altered, house=house,
    )  # fmt: skip


def told_now(store: Store, unit_id: str, sheet: Sheet, at: str) -> Certificate:
    """What a certificate of the unit would say if it was written now, under the date of one that was."""
    house, steps = HouseFile(store.folder).now(), steps_of(store.history(unit_id), sheet)
    return certificate_of(store, unit_id, sheet, steps, house, number="", now=at, shop=Shop(""))


def _evidence(
    store: Store, results: Mapping[str, Result], sheet: Sheet, limits: Limits, altered: set[str]
) -> dict[str, Progress]:
    """What the checks that draw on a dial drew, worked out again from their captures; nothing where one is gone. One
    that is not what was recorded goes to `altered`: the certificate says so instead of drawing it."""
    found: dict[str, Progress] = {}
    for check in (name for name, about in described().items() if about.dial is not None):
        result = results.get(check)
        if result is None or not result.capture_sha256:
            continue
        try:
            capture = read_capture(store.capture_path(result.capture_sha256))
            takes = takes_of(capture, sheet)
        except CaptureAltered:
            altered.add(result.id)
            continue
        except StationError:
            continue  # the dial is drawn without it; the readings stand in the record
        for (name, control), take in takes:
            if (name, control) == (check, result.control):
                found[check] = CHECKS[check].progress(take, limits)
    return found
