"""A unit's history as the record pane shows it: visits side by side, findings, log. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from station.checks.decide import deciding, reading_outcome
from station.checks.registry import describe, title_of
from station.checks.said import reading_name, remarks, sentence, spoken_value, verdict_text
from station.checks.strengths import faulty_presses
from station.checks.types import Outcome, Reading
from station.judgement import claimed
from station.judgement.compared import Change, change
from station.judgement.totals import visit_totals
from station.judgement.tries import Key, gave_verdict, shown_by_key, standing, suspicions, tells
from station.records.types import (
    FIRST_LOOK,
    Comeback,
    Issued,
    Result,
    Treatment,
    Unit,
    UnitHistory,
    Visit,
    Withdrawal,
    Withdrawn,
)
from station.sheets.model import Sheet
from station.ui.ports import CertificateReady, Withdrawable
from station.words import claims, common, figures, grammar, selling
from station.words import judgement as judged
from station.words import record as words
from station.words import undo as undoing
from station.words.grammar import count_of, sentence_start, spoken_name

MOST_VISITS = 3
_COARSEST = 9.0
"""an uncertainty above it does not write what stands beside it in tens: 8.2 would be 10"""
_RANK = {Outcome.FAIL: 0, Outcome.INTERRUPTED: 1, Outcome.BORDERLINE: 2, Outcome.NOT_DONE: 3, Outcome.PASS: 4}


NONE_OLDER: Mapping[Key, Treatment] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Cell:
    """A try in a word or a figure. `outcome` is the try's own, whatever the reading that is shown says by itself;
    `tip` says which reading decided, where the figure is not that one."""

    text: str
    outcome: Outcome | None = None
    tip: str = ""
    result_id: str = ""


@dataclass(frozen=True, slots=True)
class VisitRow:
    """One check of one control over the visits; `outcome` is what stands, else that of its last try. `change`: how the
    last visit differs from the one before. `quiet`: every try passed, so there is nothing to compare."""

    label: str
    tip: str
    cells: tuple[Cell, ...]
    outcome: Outcome
    change: Change = ""
    quiet: bool = False
    key: Key = field(default=("", ""), compare=False)


@dataclass(frozen=True, slots=True)
class VisitTable:
    """`tips`: what was done before the visit of each column, empty where nothing was."""

    heads: tuple[str, ...]
    rows: tuple[VisitRow, ...]
    tips: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LogLine:
    """`struck`: when and why it was withdrawn, empty while it counts. `row_id`: of what can be withdrawn. `order`:
    where it stands, if not by its time."""

    at: str
    text: str
    struck: str = ""
    row_id: str = ""
    order: str = ""


def visit_table(
    history: UnitHistory,
    names: Mapping[str, str],
    running_visit: str = "",
    columns: int = MOST_VISITS,
    older: Mapping[Key, Treatment] = NONE_OLDER,
) -> VisitTable:
    """At most `columns` visits side by side: first what became worse or better, then failing checks. `names`: control
    id → name. `older`: the checks whose result is older than a treatment that may have changed it."""
    visits = _columns(history, columns)
    last = {v.id: _shown_results(history, v.id) for v in visits}
    keys = dict.fromkeys(key for v in visits for key in last[v.id])
    stands = standing(history.results)
    rows = [_row(key, [last[v.id].get(key) for v in visits], names, stands.get(key), older.get(key)) for key in keys]
    order = sorted(range(len(rows)), key=lambda k: (*_urgency(rows[k]), k))
    treatments = {t.id: t for t in history.treatments}
    heads = tuple(words.NOW if v.id == running_visit else common.VISIT_KINDS[v.kind] for v in visits)
    done = (treatments.get(v.treatment_id or "") for v in visits)
    tips = tuple("" if t is None else _treatment_words(t) for t in done)
    return VisitTable(heads, tuple(rows[k] for k in order), tips)


def findings(
    history: UnitHistory,
    twins: Mapping[str, str] | None = None,
    names: Mapping[str, str] | None = None,
    older: Mapping[Key, Treatment] = NONE_OLDER,
) -> tuple[tuple[str, Outcome], ...]:
    """What stands for each check in words, failing first, each text once; beside it what the same reading is on the
    control's twin (`twins`: control → twin), which tells a worn unit from a worn part, and whether it is `older`."""
    found = said_of_findings(history, twins, names, older)
    return tuple((text, result.assessment.outcome) for text, (result, _) in found.items())


def said_of_findings(
    history: UnitHistory,
    twins: Mapping[str, str] | None = None,
    names: Mapping[str, str] | None = None,
    older: Mapping[Key, Treatment] = NONE_OLDER,
) -> dict[str, tuple[Result, str]]:
    """The same texts in the same order, each with the result and the code of the finding that it tells."""
    stands = standing(history.results)
    said = [
        (_before(_beside(sentence(r.check, f), r, stands, twins or {}, names or {}), older.get(key)), r, f.code)
        for key, r in stands.items()
        for f in r.assessment.findings
    ]
    said += [
        (words.SUSPECTED.format(finding=sentence(r.check, f)), r, f.code)
        for r in suspicions(history.results).values()
        for f in r.assessment.findings
    ]
    said.sort(key=lambda one: _RANK[one[1].assessment.outcome])
    once: dict[str, tuple[Result, str]] = {}
    for text, result, code in said:
        once.setdefault(text, (result, code))
    return once


def _before(finding: str, treatment: Treatment | None) -> str:
    """The finding with "from before “clean the sensor” of 2026-03-06, not tested since" where it no longer holds."""
    return finding if treatment is None else words.FINDING_OLDER.format(finding=finding, older=_older_words(treatment))


def _older_words(treatment: Treatment) -> str:
    kind = common.TREATMENT_KINDS.get(treatment.kind, treatment.kind)
    return judged.OLDER_THAN_TREATMENT.format(kind=kind, day=figures.day(treatment.at))


def _beside(
    finding: str, result: Result, stands: Mapping[Key, Result], twins: Mapping[str, str], names: Mapping[str, str]
) -> str:
    """The finding with the twin's value of the reading that decided, as "right stick: 1.1 %", where there is one."""
    twin = twins.get(result.control, "")
    decided = deciding(result.assessment.readings, result.assessment.outcome)
    other = stands.get((result.check, twin))
    if not twin or decided is None or other is None:
        return finding
    same = next((r for r in other.assessment.readings if r.name == decided.name and r.value is not None), None)
    if same is None or same.value is None:
        return finding
    name, value = spoken_name(names.get(twin, _name_of(twin))), spoken_value(result.check, same)
    return words.FINDING_BESIDE_TWIN.format(finding=finding, twin=name, value=value)


def said_of_readings(history: UnitHistory, names: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """What the readings that stand say of themselves in words, each under its control and check."""
    names = names or {}
    found = []
    for (check, control), result in standing(history.results).items():
        about = describe(check).short or spoken_name(title_of(check))
        name = names.get(control, _name_of(control)) if control else ""
        what = words.CHECK_OF.format(control=name, check=about) if name else sentence_start(about)
        found += [words.SAID_OF.format(what=what, said=said) for said in remarks(check, result.assessment)]
    return tuple(found)


def claim_words(history: UnitHistory, sheet: Sheet) -> str:
    """What the claim is: as a person set it, else as the results say, else as the last first look says."""
    unit = history.unit
    if unit.claim_state != claimed.OPEN:
        return common.CLAIM_STATES[unit.claim_state]
    found = claimed.judged(history, sheet)
    if found != claimed.OPEN:
        return claims.BY_RESULTS.format(state=common.CLAIM_STATES[found])
    look = next((v.id for v in reversed(history.visits) if v.kind == FIRST_LOOK and v.finished_at), "")
    said = claimed.at_first_look(unit.claim, (r for r in history.results if r.visit_id == look), sheet) if look else ""
    return claims.LOOKED[said] if said else common.CLAIM_STATES[claimed.OPEN]


def log_lines(history: UnitHistory) -> tuple[LogLine, ...]:
    """Visits, treatments and notes in the order in which they were recorded, and what was withdrawn."""
    lines = [LogLine(v.started_at, _visit_words(v, history), order=v.order) for v in history.visits]
    lines += [LogLine(t.at, _treatment_words(t), row_id=t.id, order=t.order) for t in history.treatments]
    lines += [
        LogLine(n.at, words.NOTE_WITH_PHOTO.format(note=n.text) if n.photo_sha256 else n.text, row_id=n.id)
        for n in history.notes
    ]
    lines += [LogLine(c.at, comeback_words(c, history), row_id=c.id) for c in history.comebacks]
    lines += [LogLine(c.at, words.CERTIFICATE_ISSUED.format(number=c.name), row_id=c.id) for c in history.certificates]
    lines += [
        LogLine(w.entry.at if w.entry else w.by.at, said_of(w, history), _struck(w.by)) for w in history.withdrawn
    ]
    return tuple(sorted(lines, key=lambda line: line.order or line.at))


def said_of(withdrawn: Withdrawn, history: UnitHistory) -> str:
    """What was withdrawn, in a few words."""
    entry = withdrawn.entry
    if isinstance(entry, Result):
        return _result_words(entry)
    if isinstance(entry, Treatment):
        return _treatment_words(entry)
    if isinstance(entry, Comeback):
        return comeback_words(entry, history)
    if isinstance(entry, Issued):
        return words.CERTIFICATE_ISSUED.format(number=entry.name)
    if entry is not None:
        return entry.text
    if withdrawn.by.what == "unit":
        return undoing.UNIT_ITSELF
    currency = history.currency
    return grammar.COMMA.join(_value_words(k, v, currency) for k, v in withdrawn.by.values.items())


def _value_words(name: str, value: object, currency: str) -> str:
    text = str(value or undoing.NO_VALUE)
    if name == "sold_minor" and isinstance(value, int):
        text = figures.money(value, currency)
    elif name in _DATA_WORDS:
        text = _DATA_WORDS[name].get(text, text)
    elif name == "lot_id":
        text = undoing.LOT_OTHER if value else undoing.NO_VALUE
    elif name == "rest_until" and value:
        text = figures.day(text)
    return undoing.VALUE.format(name=undoing.VALUE_NAMES.get(name, name), value=text)


_DATA_WORDS = {"becomes": common.BECOMES, "claim_state": common.CLAIM_STATES}


def _struck(by: Withdrawal) -> str:
    template = undoing.STRUCK_BY if by.person else undoing.STRUCK
    return template.format(day=figures.day(by.at), person=by.person, reason=by.reason)


def _result_words(result: Result) -> str:
    about = describe(result.check).short or spoken_name(title_of(result.check))
    what = words.CHECK_OF.format(control=_name_of(result.control), check=about) if result.control else about
    return undoing.MARKED.format(check=sentence_start(what), outcome=common.OUTCOMES[result.assessment.outcome.value])


def withdrawable(history: UnitHistory) -> tuple[Withdrawable, ...]:
    """What of a unit can be withdrawn: its sale, then what was written by a person (treatments, notes, marks,
    certificates), then what the bench measured, each the newest first; the unit itself last."""
    unit = history.unit
    if history.unit_withdrawn is not None:
        return ()
    found = [(r.at, "result", r.id, _result_words(r)) for r in history.results]
    found += [(t.at, "treatment", t.id, _treatment_words(t)) for t in history.treatments]
    found += [(n.at, "note", n.id, n.text) for n in history.notes]
    found += [(c.at, "comeback", c.id, comeback_words(c, history)) for c in history.comebacks]
    found += [(c.at, "certificate", c.id, words.CERTIFICATE_ISSUED.format(number=c.name)) for c in history.certificates]
    found.sort(reverse=True)
    measured = {r.id for r in history.results if not r.by_hand}
    found.sort(key=lambda row: row[2] in measured)
    listed = [
        Withdrawable(what, row_id, unit.id, undoing.ENTRY.format(day=figures.when(at), what=said))
        for at, what, row_id, said in found
    ]
    if unit.becomes == "sold":
        currency = history.currency
        price = undoing.SALE.format(price=figures.money(unit.sold_minor, currency))
        said = price if unit.sold_minor else undoing.SALE_WITHOUT_PRICE
        listed.insert(0, Withdrawable("sale", unit.id, unit.id, said))
    return (*listed, Withdrawable("unit", unit.id, unit.id, undoing.WHOLE_UNIT))


def _columns(history: UnitHistory, most: int) -> list[Visit]:
    """The first visit and the latest ones that hold results; the latest alone where only two fit."""
    held = {r.visit_id for r in history.results}
    visits = [v for v in history.visits if v.id in held]
    if len(visits) <= most:
        return visits
    return visits[-most:] if most < MOST_VISITS else [visits[0], *visits[-(most - 1) :]]


def _shown_results(history: UnitHistory, visit_id: str) -> dict[Key, Result]:
    """The try that each check of one visit is shown by."""
    return shown_by_key(r for r in history.results if r.visit_id == visit_id)


def _row(
    key: Key,
    results: list[Result | None],
    names: Mapping[str, str],
    stands: Result | None,
    treated: Treatment | None,
) -> VisitRow:
    check, control = key
    there = [r for r in results if r is not None]
    name = _main_reading(there)
    known = min(max((_uncertainty(r, name) for r in there), default=0.0), _COARSEST)
    cells = tuple(_cell(r, name, known, last=k == len(results) - 1) for k, r in enumerate(results))
    quiet = all(gave_verdict(r) and r.assessment.outcome is Outcome.PASS for r in there) and treated is None
    changed = change(there[-2], there[-1], name) if len(there) > 1 and results[-1] is not None else ""
    about = describe(check).short or spoken_name(title_of(check))
    label = sentence_start(about)
    if control:
        label = words.CHECK_OF.format(control=names.get(control, _name_of(control)), check=about)
    tip = words.ROW_TOLD.format(row=label, reading=reading_name(check, name)) if name else label
    if treated is not None:
        tip = words.ROW_TOLD_OLDER.format(told=tip, older=_older_words(treated))
        label = judged.OLDER.format(label=label)
    if changed:
        tip = words.ROW_CHANGED.format(told=tip, change=common.SHAPES[changed])
    return VisitRow(label, tip, cells, (stands or there[-1]).assessment.outcome, changed, quiet, key)


def _urgency(row: VisitRow) -> tuple[int, ...]:
    """Sorts what leads first: worse, better, bad, bad once, the rest."""
    changed = ("worse", "better", "").index(row.change)
    return changed, _RANK[row.outcome], not _ever_bad(row)


def _main_reading(results: list[Result]) -> str:
    """The reading by which a check is compared: the one that decided its worst outcome, else its first with a limit."""
    worst = min(results, key=lambda r: (not gave_verdict(r), _RANK[r.assessment.outcome]))
    outcome = worst.assessment.outcome
    decided = None if outcome is Outcome.PASS else deciding(worst.assessment.readings, outcome)
    if decided is not None:
        return decided.name
    return next((r.name for r in worst.assessment.readings if r.limit is not None), "")


def _uncertainty(result: Result, name: str) -> float:
    """Of the reading of that name; 0 where it says nothing of the place to which its value holds."""
    found = next((r for r in result.assessment.readings if r.name == name), None)
    if found is None or found.value is None or not figures.tells(found.value, found.uncertainty):
        return 0.0
    return found.uncertainty


def _cell(result: Result | None, name: str, known: float, last: bool) -> Cell:
    """One figure under the outcome of the try; only the last column names its unit. `known`: the largest uncertainty in
    the row; all of a row are written to the place that it leaves, since they stand there to be compared.

    A try without a verdict is told by its word, and so is one that another reading decided, since a figure beside that
    outcome would seem to be its reason.
    """
    return Cell("") if result is None else replace(_told(result, name, known, last), result_id=result.id)


def _told(result: Result, name: str, known: float, last: bool) -> Cell:
    outcome = result.assessment.outcome
    if not tells(result.assessment):
        return Cell(common.OUTCOMES[outcome.value], outcome, result.assessment.again)
    presses = faulty_presses(result.assessment.readings)
    if presses is not None and not result.by_hand and outcome is not Outcome.PASS:
        told = words.FAULTY_TOLD if last else words.FAULTY
        return Cell(told.format(faulty=presses[0], counted=presses[1]), outcome)
    reading: Reading | None = next((r for r in result.assessment.readings if r.name == name), None)
    if result.by_hand or reading is None or reading.value is None or (outcome is Outcome.PASS and not reading.unit):
        # a count that is as it should be says no more than the word
        return Cell(common.OUTCOMES[outcome.value], outcome)
    bare_count = not reading.unit or reading.unit == "count"  # the number alone does not say of what
    if bare_count or reading_outcome(reading) not in (None, outcome):
        decided = deciding(result.assessment.readings, outcome)
        return Cell(common.OUTCOMES[outcome.value], outcome, verdict_text(result.check, decided) if decided else "")
    return Cell(spoken_value(result.check, replace(reading, uncertainty=known), unit=last), outcome)


def certificate_facts(certificate: CertificateReady | None) -> list[tuple[str, str]]:
    """Where the last certificate is and whose key signed it, as lines of the unit's facts; none without one."""
    if certificate is None:
        return []
    signed = words.SIGNED_WITH.format(fingerprint=certificate.key) if certificate.key else words.NOT_SIGNED
    where = _breakable(certificate.path)
    if certificate.withdrawn:
        where = words.CERTIFICATE_WITHDRAWN.format(reason=certificate.withdrawn)
    return [(words.CERTIFICATE, where), (words.SIGNED, signed)]


def _breakable(path: str) -> str:
    """A path that may be broken over lines after each part; a narrow pane cannot hold it in one."""
    return re.sub(r"([/\\_-])", "\\1\N{ZERO WIDTH SPACE}", path)


def _ever_bad(row: VisitRow) -> bool:
    return any(c.outcome in (Outcome.FAIL, Outcome.BORDERLINE) for c in row.cells)


def _visit_words(visit: Visit, history: UnitHistory) -> str:
    totals = visit_totals(history.results, visit.id)
    came_to = words.CAME_TO_NOTHING
    if totals.done:
        came_to = words.CAME_TO.format(checks=count_of(totals.done, words.CHECKS), failed=totals.failed)
    template = words.VISIT if visit.finished_at else words.VISIT_NOT_FINISHED
    return template.format(kind=common.VISIT_KINDS[visit.kind], came_to=came_to)


def comeback_words(comeback: Comeback, history: UnitHistory) -> str:
    """A return in a few words."""
    currency = history.currency
    template = selling.COMEBACK_SALE if comeback.refund_minor else selling.COMEBACK
    return template.format(
        reason=comeback.reason,
        found=selling.FOUND[comeback.found],
        refund=figures.money(comeback.refund_minor, currency),
        price=figures.money(comeback.sold_minor, currency),
    )


def sale_words(unit: Unit, currency: str) -> str:
    """A sale in a few words; empty while it is not sold."""
    if unit.becomes != "sold" or not unit.sold_minor:
        return ""
    template = selling.SALE_BY if unit.channel else selling.SALE
    price, day = figures.money(unit.sold_minor, currency), figures.day(unit.sold_on)
    return (template if unit.sold_on else selling.SALE_UNDATED).format(price=price, day=day, channel=unit.channel)


def _treatment_words(treatment: Treatment) -> str:
    kind = common.TREATMENT_KINDS.get(treatment.kind, treatment.kind)
    parts = [words.TREATMENT_OF_PART.format(kind=kind, part=treatment.part) if treatment.part else kind]
    if treatment.minutes:
        parts.append(figures.no_break(words.TREATMENT_MINUTES.format(minutes=figures.number(treatment.minutes, 0))))
    if treatment.cost_minor:
        parts.append(figures.money(treatment.cost_minor, treatment.currency))
    if treatment.note:
        parts.append(treatment.note)
    return grammar.COMMA.join(parts)


def _name_of(control: str) -> str:
    """A control's id as words, for where no sheet is at hand: "left_stick" → "Left stick"."""
    return sentence_start(control.replace("_", " "))
