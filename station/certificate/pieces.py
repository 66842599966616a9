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
from station.certificate.statements import DECISION_RULE, LIMITS, SCOPE, SIGNED, UNCERTAINTY, UNSIGNED
from station.certificate.types import Certificate, TreatmentLine, VisitLine
from station.judgement.totals import Totals


def pieces_of(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    """Everything on the pages in order. `fingerprint`: of the key that signs; empty if it is not signed."""
    yield from _summary(c, fingerprint)
    yield from _story(c)
    yield from _dials(c)
    for block in c.controls:
        yield from control_pieces(block)
    yield from _small_print(c, SIGNED if fingerprint else UNSIGNED)


def _summary(c: Certificate, fingerprint: str) -> Iterator[Piece]:
    worst = Totals(c.passed, c.borderline, c.failed).outcome
    code = qr_matrix(qr_text(c, fingerprint))
    wide = WIDE - qr_size_mm(code)
    result = Face(14, bold=True, color=OUTCOME_FACES[worst].color if worst in OUTCOME_FACES else DIM)

    def draw(paper: Paper, y: float) -> None:
        one_line(paper, LEFT, y + 9, c.model, TITLE, wide)
        one_line(paper, LEFT, y + 16, f"Unit {c.tag}", Face(13, bold=True), wide)
        draw_outcome(paper, LEFT + 3.4, y + 25.5, 6.4, worst)
        one_line(paper, LEFT + 10, y + 27.3, c.headline(), result, wide - 10)
        draw_qr(paper, code, RIGHT, y + 2.5)

    yield Piece(max(33, qr_size_mm(code)), draw)
    left = [
        ("Tested by", f"{c.person or 'not named'}, {c.bench or 'bench not named'}"),
        ("Issued", f"{c.issued_at[:16].replace('T', ' ')} UTC"),
        ("Taken in", f"{c.received_at[:10]}" if c.received_at else "not noted"),
        ("Serial number", c.serial or "none given by the unit"),
    ]
    right = [
        ("USB identity", c.usb_id or "unknown"),
        ("Claim", f"“{c.claim}” – {c.claim_state}" if c.claim else "none"),
        ("Condition", c.condition or "not noted"),
        ("Becomes", c.becomes),
    ]
    for (a, va), (b, vb) in zip(left, right, strict=True):
        yield pair_row(a, va, b, vb)
    yield wide_row("Signature", f"Ed25519, key {fingerprint}" if fingerprint else f"None. {UNSIGNED}")
    yield gap(4)


def _story(c: Certificate) -> Iterator[Piece]:
    yield head("What was done")
    rows = [(v.started_at, _visit_row(v)) for v in c.visits] + [(t.at, _treatment_row(t)) for t in c.treatments]
    yield from (row for _, row in sorted(rows, key=lambda r: r[0]))
    yield paragraph(c.rest, TEXT)
    if c.changes:
        yield head("Before and after")
        for change in c.changes:
            told = zip(change.values, change.shown, strict=True)
            steps = "   ".join(f"visit {n}: {text or '–'}" for (n, _, _), text in told)
            yield log_row("", change.what, f"{steps} {'' if change.unit == 'count' else change.unit}", wide=True)


def _visit_row(v: VisitLine) -> Piece:
    end = "" if v.finished_at else " (not finished)"
    result = f"{v.passed} passed, {v.borderline} borderline, {v.failed} failed"
    return log_row(v.started_at[:10], f"Visit {v.number}, {v.kind}{end}", result)


def _treatment_row(t: TreatmentLine) -> Piece:
    facts = [f"{t.minutes} min" if t.minutes else "", t.materials, t.cost, t.note]
    what = t.kind[:1].upper() + t.kind[1:] + (f": {t.part}" if t.part else "")
    return log_row(t.at[:10], what, " · ".join(f for f in facts if f))


def _dials(c: Certificate) -> Iterator[Piece]:
    if not c.dials:
        return
    yield head("Sticks as measured")
    radius = 30.0
    for i in range(0, len(c.dials), 2):
        pair = c.dials[i : i + 2]

        def draw(paper: Paper, y: float, pair: tuple[object, ...] = pair) -> None:
            for k, dial in enumerate(pair):
                draw_dial(paper, dial, LEFT + WIDE * (0.25 + 0.5 * k), y + radius + 5, radius)  # type: ignore[arg-type]

        yield Piece(2 * radius + 20, draw)
    note = (
        "Solid ring: limit at rest. Dotted ring: least reach asked for. Dot: position at rest. Crosses: where it "
        "settled after letting go. Outer ticks: the 72 sectors of the rim, short where the reach is too small."
    )
    yield paragraph(note, SMALL)


def _small_print(c: Certificate, signature: str) -> Iterator[Piece]:
    if c.not_tested:
        yield head("Not tested")
        yield paragraph("; ".join(c.not_tested) + ".", TEXT)
    if c.deviations:
        yield head("Deviations")
        for text in c.deviations:
            yield paragraph(text, TEXT)
    yield head("How to read this")
    for text in (DECISION_RULE, UNCERTAINTY, LIMITS, c.timing, signature):
        yield paragraph(text, Face(8.5))
    yield replace(paragraph(SCOPE, STRONG), keep=True)
    yield Piece(
        10,
        lambda paper, y: nothing(
            paper.text(pp.WIDTH_MM / 2, y + 6, f"End of certificate {c.number}", SMALL, center=True)
        ),
    )
