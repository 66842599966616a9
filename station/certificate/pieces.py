"""What stands on a certificate, from top to end: the summary, what was done, dials, controls and how to read it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from station.certificate import paper as pp
from station.certificate.control_rows import control_pieces
from station.certificate.figures import OUTCOME_FACES, draw_dial, draw_outcome
from station.certificate.layout import (
    LEFT,
    RIGHT,
    WIDE,
    Piece,
    gap,
    head,
    log_row,
    nothing,
    one_line,
    pair_row,
    paragraph,
    wide_row,
)
from station.certificate.paper import DIM, SMALL, STRONG, TEXT, TITLE, Face, Paper
from station.certificate.qr import draw_qr, qr_matrix, qr_size_mm, qr_text
from station.certificate.types import Certificate, Change, GradeLimit, GradeLine, TreatmentLine, VisitLine
from station.checks.registry import title_of
from station.checks.said import cannot_be_seen, limits_text, marked, reading_name
from station.checks.types import Reading
from station.judgement.totals import Totals
from station.measure.sectors import SECTORS
from station.words import certificate as words
from station.words import common, figures, grammar, unseen


def pieces_of(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    """Everything on the pages in order. `fingerprint`: of the key that signs; empty if it is not signed."""
    yield from _summary(c, fingerprint)
    yield from _story(c)
    yield from _dials(c)
    for block in c.controls:
        yield from control_pieces(block)
    yield from _small_print(c, words.SIGNED if fingerprint else words.UNSIGNED)


def _summary(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    worst = Totals(c.passed, c.borderline, c.failed).outcome
    code = qr_matrix(qr_text(c, fingerprint))
    wide = WIDE - qr_size_mm(code)
    result = Face(14, bold=True, color=OUTCOME_FACES[worst].color if worst in OUTCOME_FACES else DIM)

    def draw(paper: Paper, y: float) -> None:
        one_line(paper, LEFT, y + 9, c.model, TITLE, wide)
        one_line(paper, LEFT, y + 16, words.UNIT.format(tag=c.tag), Face(13, bold=True), wide)
        draw_outcome(paper, LEFT + 3.4, y + 25.5, 6.4, worst)
        one_line(paper, LEFT + 10, y + 27.3, c.headline(), result, wide - 10)
        draw_qr(paper, code, RIGHT, y + 2.5)

    yield Piece(max(33, qr_size_mm(code)), draw)
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
    kind = grammar.sentence_start(common.TREATMENT_KINDS.get(t.kind, t.kind))
    what = words.TREATED_PART.format(kind=kind, part=t.part) if t.part else kind
    return log_row(_day(t.at), what, words.DOT.join(f for f in facts if f))


def _day(text: str) -> str:
    return figures.day(text, figures.PAPER)


def _dials(c: Certificate) -> Iterator[Piece]:
    if not c.dials:
        return
    yield head(words.STICKS)
    radius = 30.0
    for i in range(0, len(c.dials), 2):
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
    yield replace(paragraph(words.SCOPE, STRONG), keep=True)
    yield Piece(
        10,
        lambda paper, y: nothing(
            paper.text(pp.WIDTH_MM / 2, y + 6, words.END.format(number=c.number), SMALL, center=True)
        ),
    )
