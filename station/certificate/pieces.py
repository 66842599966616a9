"""What stands on a certificate: the first page, then the annex with what was done, every reading and how to read it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from station.certificate.control_rows import control_pieces
from station.certificate.figures import draw_dial
from station.certificate.front import DIALS, front_pieces, treated
from station.certificate.layout import (
    WIDE,
    Keep,
    Piece,
    gap,
    head,
    log_row,
    nothing,
    pair_row,
    paragraph,
    wide_row,
)
from station.certificate.paper import LEFT, RIGHT, SMALL, STRONG, TEXT, Face, Paper
from station.certificate.photo import Pictures
from station.certificate.types import Certificate, Change, GradeLimit, GradeLine, TreatmentLine, VisitLine
from station.checks.registry import title_of
from station.checks.said import cannot_be_seen, limits_text, marked, reading_name
from station.checks.types import Reading
from station.measure.sectors import SECTORS
from station.words import certificate as words
from station.words import common, figures, grammar, unseen


def pieces_of(c: Certificate, fingerprint: str, room: float, pictures: Pictures) -> Iterator[Piece]:
    """Everything on the pages in order. `fingerprint`: of the key that signs; empty if it is not signed. `room`: mm of
    height on a page."""
    yield from front_pieces(c, fingerprint, room, pictures)
    yield replace(head(words.ANNEX), new_page=True)
    yield from _facts(c, fingerprint)
    yield from _story(c)
    yield from _dials(c)
    for block in c.controls:
        yield from control_pieces(block)
    yield from _small_print(c, words.SIGNED if fingerprint else words.UNSIGNED)


def _facts(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    whom = words.PERSON_AND_BENCH.format(person=c.person or words.NO_PERSON, bench=c.bench or words.NO_BENCH)
    state = common.CLAIM_STATES.get(c.claim_state, c.claim_state)
    left = [
        (words.TESTED_BY, whom),
        (words.ISSUED, words.ISSUED_AT.format(day=_day(c.issued_at), time=c.issued_at[11:16])),
        (words.TAKEN_IN, _day(c.received_at) if c.received_at else words.NOT_NOTED),
        (words.SERIAL, c.serial or words.NO_SERIAL),
    ]
    right = [
        (words.USB_IDENTITY, c.usb_id or words.UNKNOWN),
        (words.CLAIM, words.CLAIMED.format(claim=c.claim, state=state) if c.claim else words.NO_CLAIM),
        (words.CONDITION, c.condition or words.NOT_NOTED),
        (words.BECOMES, common.BECOMES.get(c.becomes, c.becomes)),
    ]
    for (a, va), (b, vb) in zip(left, right, strict=True):
        yield pair_row(a, va, b, vb)
    if c.grade is not None:
        name = grammar.sentence_start(c.grade.said)
        if c.grade.name and c.grade.scale == "shop":
            name = words.SHOPS_GRADE.format(grade=name)
        said = (name, c.grade.kept_from)
        yield wide_row(words.GRADE, words.NEXT_NOT_TESTED.join(s for s in said if s))
    signed = words.SIGNATURE_BY.format(fingerprint=fingerprint)
    yield wide_row(words.SIGNATURE, signed if fingerprint else words.NO_SIGNATURE.format(why=words.UNSIGNED))
    yield gap(4)


def _story(c: Certificate) -> Iterator[Piece]:
    yield head(words.WHAT_WAS_DONE)
    rows = [(v.started_at, _visit_row(v)) for v in c.visits] + [(t.at, _treatment_row(t)) for t in c.treatments]
    yield from (row for _, row in sorted(rows, key=lambda r: r[0]))
    yield paragraph(c.rest, TEXT)
    if c.changes:
        yield head(words.BEFORE_AND_AFTER)
        for change in c.changes:
            yield log_row("", change.what, words.BETWEEN_VISITS.join(_values(change)), wide=True)


def _values(change: Change) -> Iterator[str]:
    """What the reading was at each visit, with its unit."""
    unit = "" if change.unit == "count" else change.unit
    for (number, _, _), text in zip(change.values, change.shown, strict=True):
        value = figures.with_unit(text, unit) if text else words.NO_VALUE
        yield words.VALUE_AT_VISIT.format(number=number, value=value)


def _visit_row(v: VisitLine) -> Piece:
    kind = common.VISIT_KINDS.get(v.kind, v.kind)
    visit = words.VISIT if v.finished_at else words.VISIT_OPEN
    came_to = words.VISIT_CAME_TO.format(passed=v.passed, borderline=v.borderline, failed=v.failed)
    return log_row(_day(v.started_at), visit.format(number=v.number, kind=kind), came_to)


def _treatment_row(t: TreatmentLine) -> Piece:
    facts = [words.MINUTES.format(minutes=t.minutes) if t.minutes else "", t.materials, t.cost, t.note]
    return log_row(_day(t.at), treated(t), words.DOT.join(f for f in facts if f))


def _day(text: str) -> str:
    return figures.day(text, figures.PAPER)


def _dials(c: Certificate) -> Iterator[Piece]:
    """Those that the first page has no room for, and what the signs in them mean."""
    if not c.dials:
        return
    yield head(words.STICKS)
    radius = 30.0
    for i in range(DIALS, len(c.dials), 2):
        pair = c.dials[i : i + 2]

        def draw(paper: Paper, y: float, pair: tuple[object, ...] = pair) -> None:
            for k, dial in enumerate(pair):
                draw_dial(paper, dial, LEFT + WIDE * (0.25 + 0.5 * k), y + radius + 5, radius)  # type: ignore[arg-type]

        yield Piece(2 * radius + 20, draw)
    yield paragraph(words.DIAL_NOTE.format(sectors=SECTORS), SMALL)


def _grade(grade: GradeLine | None) -> Iterator[Piece]:
    """The grade's limits, check by check: all that is needed to judge it again."""
    if grade is None or not grade.name:
        return
    yield head(words.GRADE_LIMITS.format(grade=grade.said))
    rule = words.GRADE_OF_FAULTS if grade.faults else words.GRADE_RULE
    yield paragraph(words.TWO_SENTENCES.format(first=rule, second=words.GRADE_SCALES[grade.scale]), Face(8.5))
    for check in dict.fromkeys(one.check for one in grade.limits):
        limits = words.NEXT_NOT_TESTED.join(_grade_limit(one) for one in grade.limits if one.check == check)
        yield paragraph(words.GRADE_LIMITS_OF.format(check=title_of(check), limits=limits), Face(8.5))


def _grade_limit(one: GradeLimit) -> str:
    like = Reading(one.reading, None, one.unit, 0.0, one.limit, one.fail_beyond, one.rule)
    limit = marked(
        figures.with_unit(limits_text(like, figures.PAPER), "" if one.unit == "count" else one.unit), one.origin
    )
    return words.GRADE_LIMIT.format(reading=reading_name(one.check, one.reading), limit=limit)


def _unseen(c: Certificate) -> list[str]:
    """What the checks on it cannot see: once for all that cannot see the same."""
    readings: dict[tuple[str, str], list[Reading]] = {}
    for block in c.controls:
        for line in block.lines:
            readings.setdefault((line.check, line.title), []).extend(line.readings)
    said: dict[str, list[str]] = {}
    for (check, title), found in readings.items():
        said.setdefault(cannot_be_seen(check, found), []).append(title)
    return [
        unseen.OF_CHECK.format(check=grammar.COMMA.join(dict.fromkeys(titles)), what=what)
        for what, titles in said.items()
        if what
    ]


def _small_print(c: Certificate, signature: str) -> Iterator[Piece]:
    if c.not_tested:
        yield head(words.NOT_TESTED)
        yield paragraph(words.ALL_NOT_TESTED.format(list=words.NEXT_NOT_TESTED.join(c.not_tested)), TEXT)
    if c.deviations:
        yield head(words.DEVIATIONS)
        for text in c.deviations:
            yield paragraph(text, TEXT)
    yield from _grade(c.grade)
    cannot = _unseen(c)
    if cannot:
        yield head(words.CANNOT_SEE)
        yield from (paragraph(text, Face(8.5)) for text in cannot)
    yield head(words.HOW_TO_READ)
    for text in (words.DECISION_RULE, words.UNCERTAINTY, words.LIMITS, c.timing, signature):
        yield paragraph(text, Face(8.5))
    yield replace(paragraph(words.SCOPE, STRONG), keep=Keep.FIRM)
    yield Piece(
        10,
        lambda paper, y: nothing(
            paper.text((LEFT + RIGHT) / 2, y + 6, words.END.format(number=c.number), SMALL, center=True)
        ),
    )
