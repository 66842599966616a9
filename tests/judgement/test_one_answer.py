"""One sequence of tries, every reader, one answer: checklist, record pane, diagnosis, lots, certificate, recordings
read again, the records' own gate and the SQL views."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from station.app.certify import steps_of
from station.bench.checklist import Checklist
from station.bench.plan import plan
from station.certificate.content import build_certificate
from station.certificate.types import Certificate
from station.checks.light import LightCheck
from station.checks.types import Outcome
from station.diagnosis.evidence import evidence_of, last_counts
from station.diagnosis.guide import load_guide
from station.diagnosis.learn import trials_from
from station.evidence.assess import assess_capture
from station.judgement import treated, tries
from station.judgement.grade import grading_of, headline
from station.judgement.limits import shipped, standard
from station.judgement.pooled import pooled
from station.lots.outlook import outlook_of
from station.lots.shares import passed_intake
from station.lots.view import lot_view
from station.records.export import TABLES
from station.records.views import VIEWS
from station.ui.record.rows import log_lines, visit_table
from station.words import grammar
from tests.checks import made_captures
from tests.judgement.story import (
    CONTACT,
    FIRM,
    KEYS,
    LIGHT,
    LINK,
    MISTAKEN,
    REASON,
    REST,
    SAYS,
    SHEET,
    SWEEP,
    TREATMENTS,
    TRIES,
    Event,
    Expected,
    Telling,
)

GUIDE = load_guide()
INTAKE: Event = ("visit", "intake")
FINAL: Event = ("visit", "final")
RESTED: Event = ("visit", "after rest")
CLEAN: Event = ("treat", "clean the sensor", "Stick sensor, horizontal")

STORIES: dict[str, list[Event]] = {
    "a pass": [INTAKE, ("pass", *SWEEP)],
    "a fail and an interrupted retry": [INTAKE, ("fail", *SWEEP), ("interrupted", *SWEEP)],
    "a fail and a skip": [INTAKE, ("fail", *SWEEP), ("skip", *SWEEP)],
    "a pass and a sloppy retry": [INTAKE, ("pass", *SWEEP), ("again", *SWEEP)],
    "a fail and a pass": [INTAKE, ("fail", *SWEEP), ("pass", *SWEEP)],
    "a pass and a fail": [INTAKE, ("pass", *SWEEP), ("fail", *SWEEP)],
    "a fail that a person overrules": [INTAKE, ("fail", *SWEEP), ("by hand pass", *SWEEP)],
    "a mark by hand, then measured": [INTAKE, ("by hand fail", *SWEEP), ("borderline", *SWEEP)],
    "a skip, then measured": [INTAKE, ("skip", *SWEEP), ("pass", *SWEEP)],
    "only interrupted": [INTAKE, ("interrupted", *SWEEP)],
    "only sloppy": [INTAKE, ("again", *SWEEP), ("again", *SWEEP)],
    "only skipped": [INTAKE, ("skip", *SWEEP)],
    "an empty visit": [INTAKE, ("finish",)],
    "after the rest only what a person said": [
        INTAKE, ("pass", *SWEEP), ("finish",), CLEAN, ("days", 4), ("visit", "after rest"), ("by hand pass", *SWEEP),
        ("finish",),
    ],
    "a pass, then interrupted in the next visit": [INTAKE, ("pass", *SWEEP), FINAL, ("interrupted", *SWEEP)],
    "a fail, then skipped in the next visit": [INTAKE, ("fail", *SWEEP), FINAL, ("skip", *SWEEP), ("finish",)],
    "a fail, treated, nothing since": [INTAKE, ("fail", *SWEEP), ("pass", *LIGHT), ("finish",), CLEAN],
    "a pass that an opening made old": [INTAKE, ("pass", *CONTACT), ("pass", *LIGHT), ("finish",), CLEAN],
    "tested again after the opening": [
        INTAKE, ("pass", *CONTACT), ("finish",), CLEAN, ("visit", "after treatment"), ("pass", *CONTACT),
    ],
    "an interrupted retry after the opening": [
        INTAKE, ("pass", *CONTACT), ("finish",), CLEAN, ("visit", "after treatment"), ("interrupted", *CONTACT),
    ],
    "a part that nobody knows": [INTAKE, ("pass", *LINK), ("pass", *SWEEP), ("finish",), ("treat", "other", "")],
    "from outside": [
        INTAKE, ("pass", *CONTACT), ("pass", *SWEEP), ("treat", "clean from outside", "Stick sensor, horizontal"),
    ],
    "a fail and more presses": [INTAKE, ("fail, 2 of 9", *LIGHT), ("borderline, 2 of 69 in all", *LIGHT)],
    "a fail, marked by hand, and an interrupted retry": [
        INTAKE, ("fail, 2 of 9", *LIGHT), ("by hand pass", *LIGHT), ("interrupted", *LIGHT),
    ],
    "a fail, treated while the visit is open": [
        INTAKE, ("fail, 2 of 9", *LIGHT), ("treat", "open and clean", "left shoulder contact"),
        ("again, 12 presses", *LIGHT),
    ],
    "a fail, something else treated": [
        INTAKE, ("fail, 2 of 9", *LIGHT), ("treat", "clean from outside", "Stick sensor, horizontal"),
        ("again, 12 presses", *LIGHT),
    ],
    "a fail, and again in the next visit": [INTAKE, ("fail, 2 of 9", *LIGHT), FINAL, ("again, 12 presses", *LIGHT)],
    "firm presses of an earlier visit": [
        INTAKE, ("fail", *LIGHT), ("pass", *FIRM), RESTED, ("pass", *LIGHT), ("finish",),
    ],
    "a light press that was skipped later": [INTAKE, ("fail", *LIGHT), ("pass", *FIRM), RESTED, ("skip", *LIGHT)],
    "rested and tested": [INTAKE, ("fail", *SWEEP), CLEAN, ("days", 3), RESTED, ("pass", *SWEEP), ("finish",)],
    "rested, the test is still open": [INTAKE, ("fail", *SWEEP), CLEAN, ("days", 3), RESTED, ("pass", *SWEEP)],
    "rested, tested a day early": [INTAKE, ("fail", *SWEEP), CLEAN, ("days", 2), RESTED, ("pass", *SWEEP), ("finish",)],
    "an empty final visit on the day of the treatment": [INTAKE, ("fail", *SWEEP), CLEAN, FINAL, ("finish",)],
    "an empty final visit after the rest": [INTAKE, ("fail", *SWEEP), CLEAN, ("days", 4), FINAL, ("finish",)],
    "skipped through after the rest": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 4), FINAL, ("skip", *SWEEP), ("finish",),
    ],
    "interrupted after the rest": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 4), FINAL, ("interrupted", *SWEEP), ("finish",),
    ],
    "tested after the rest, then an empty final visit": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 3), RESTED, ("pass", *SWEEP), FINAL, ("finish",),
    ],
    "the test after a treatment is no second test": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 5), ("visit", "after treatment"), ("pass", *SWEEP), ("finish",),
    ],
    "treated again after the second test": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 3), RESTED, ("fail", *SWEEP), ("finish",), CLEAN,
    ],
    "called ready, then treated again": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 3), RESTED, ("pass", *SWEEP), ("finish",), ("ready",), CLEAN,
    ],
    "called ready without the second test": [INTAKE, ("fail", *SWEEP), ("finish",), CLEAN, ("ready",)],
    "called ready too early, opened again, rested and tested": [
        INTAKE, ("fail", *SWEEP), ("finish",), CLEAN, ("ready",), ("open",), ("days", 4), RESTED, ("pass", *SWEEP),
        ("finish",), ("ready",),
    ],
    "called ready too early, tested after all": [
        INTAKE, ("fail", *SWEEP), ("finish",), CLEAN, ("ready",), ("days", 4), RESTED, ("pass", *SWEEP), ("finish",),
    ],
    "all but one verdict older than the board": [
        INTAKE, *(("pass", *key) for key in KEYS), ("finish",), ("treat", "replace board", "Board"), ("days", 3),
        RESTED, ("pass", *SWEEP), ("finish",),
    ],
    "the same, called ready": [
        INTAKE, *(("pass", *key) for key in KEYS), ("finish",), ("treat", "replace board", "Board"), ("days", 3),
        RESTED, ("pass", *SWEEP), ("finish",), ("ready",),
    ],
    "a harder press that was skipped": [INTAKE, ("fail", *LIGHT), ("skip", *FIRM)],
    "borderline by hand": [INTAKE, ("by hand borderline", *SWEEP), ("finish",)],
    "a firm press that is borderline by hand": [INTAKE, ("pass", *LIGHT), ("by hand borderline", *FIRM), ("finish",)],
    "failed by one reading, then by another": [
        INTAKE, ("fail", *SWEEP), RESTED, ("fail by noise", *SWEEP), FINAL, ("pass", *SWEEP),
    ],
    "a sticker, and called ready": [INTAKE, ("borderline", *SWEEP), ("treat", "other", ""), ("ready",)],
    "a sticker after the second test": [
        INTAKE, ("fail", *SWEEP), CLEAN, ("days", 3), RESTED, ("pass", *SWEEP), ("finish",), ("treat", "other", ""),
    ],
}  # fmt: skip


@contextmanager
def told(folder: Path, events: list[Event]) -> Iterator[Telling]:
    telling = Telling(folder)
    with telling.store:
        yield telling.tell(*events)


def certificate(t: Telling) -> Certificate:
    steps = steps_of(t.history, SHEET)
    return build_certificate(
        t.history, steps, SHEET, number="8D9E0F-00042", issued_at=t.store.now(), bench="bench", person="Ines"
    )


def ask_every_reader(t: Telling) -> None:
    for visit in range(len(t.expected.visits)):
        readers_of_a_visit(t, visit)
    readers_of_all_visits(t)
    readers_of_a_unit(t)
    readers_of_the_tries(t)
    readers_of_what_is_older(t)
    readers_of_the_rest(t)


def readers_of_a_visit(t: Telling, number: int) -> None:
    """Checklist, record pane, the certificate's line and the view of one visit."""
    history, shown, totals = t.history, t.expected.shown(number), t.expected.totals(number)
    visit = history.visits[number]
    mine = replace(history, results=tuple(r for r in history.results if r.visit_id == visit.id))

    checklist = Checklist(plan(SHEET, visit.kind), t.store.results_of_visit(visit.id))
    views = [checklist.view(i, running=False) for i in range(len(checklist.steps))]
    assert {(v.step.check, v.step.control): v.outcome.value for v in views if v.attempts} == shown, "checklist"

    for key, word in shown.items():
        (row,) = visit_table(only(mine, key), {}).rows
        assert (row.cells[-1].outcome or Outcome.NOT_DONE).value == word, "record pane"

    if certificate_is_possible(t):
        line = certificate(t).visits[number]
        assert (line.passed, line.borderline, line.failed) == totals[:3], "certificate, line of the visit"

    row = view(t, f"SELECT passed, borderline, failed, not_done FROM visit_totals WHERE visit_id = '{visit.id}'")
    assert row == [totals], "view visit_totals"

    said = next(line.text for line in log_lines(history) if line.at == visit.started_at)
    came_to = f"{grammar.count_of(sum(totals[:3]), ('check', 'checks'))}, {totals[2]} failed"
    assert (came_to if sum(totals[:3]) else "no check yet") in said, "log of the pane"


def readers_of_all_visits(t: Telling) -> None:
    """The record pane's table: a cell says what its try came to, whatever the reading of the row says by itself."""
    history = t.history
    tried = [number for number, visit in enumerate(t.expected.visits) if visit]
    for key in dict.fromkeys(key for number in tried for key in t.expected.visits[number]):
        (row,) = visit_table(only(history, key), {}, columns=max(3, len(tried))).rows
        shown = [t.expected.shown(number).get(key) for number in tried if key in t.expected.visits[number]]
        assert [cell.outcome and cell.outcome.value for cell in row.cells] == shown, "record pane, cells"


def readers_of_a_unit(t: Telling) -> None:
    """Judgement, view, diagnosis, lots, record pane and certificate on what stands for the unit."""
    history, stands, verdicts = t.history, t.expected.stands(), t.expected.verdicts()
    assert {key: r.assessment.outcome.value for key, r in tries.standing(history.results).items()} == stands

    rows = view(t, f"SELECT check_name, control, outcome FROM standing_results WHERE unit_id = '{t.unit_id}'")
    assert {(check, control): word for check, control, word in rows} == stands, "view standing_results"

    assert {key: r.assessment.outcome.value for key, r in last_counts(history).items()} == verdicts, "diagnosis"
    evidence = evidence_of(history)
    assert set(evidence.clear) == {key for key, word in verdicts.items() if word == "pass"}, "diagnosis"
    failed = {key for key, word in verdicts.items() if word == "fail"}
    doubtful = {key for key, word in verdicts.items() if word == "borderline"}
    seen = {control for check, control in failed | doubtful if (check, control) in failed or (check, control) != FIRM}
    assert {s.control for s in evidence.seen} == seen, "diagnosis"

    for key, word in stands.items():
        (row,) = visit_table(only(history, key), {}).rows
        assert row.outcome.value == word, "record pane"

    outlook = outlook_of(history, SHEET, GUIDE, today=t.today)
    assert (outlook.stage == "settled") == t.expected.ready == (history.unit.becomes == "ready"), "lots, settled"
    assert (outlook.step is None) == t.expected.ready, "lots, next step"
    if outlook.step is not None:
        assert (outlook.step.title == "Test it: intake") == (not verdicts), "lots, next step"
        assert not (doubtful and "nothing was found" in outlook.step.reason), "lots, what is borderline"
    if t.expected.kinds[:1] == ["intake"] and t.expected.finished[0]:
        passed, borderline, bad, _ = t.expected.totals(0)
        wanted = None if not passed + borderline + bad else not borderline + bad
        assert passed_intake(history) is wanted, "lots, share that passes intake"

    if not certificate_is_possible(t):
        assert not verdicts, "certificate"
        return
    page, steps = certificate(t), steps_of(history, SHEET)
    lines = {(line.check, block.control): line for block in page.controls for line in block.lines}
    assert {key: line.outcome.value for key, line in lines.items()} == verdicts, "certificate, lines"
    assert len(page.not_tested) == len(steps) - len(verdicts), "certificate, not tested"
    skipped = {key for key, word in stands.items() if word == "not done"}
    assert sum("skipped: no time" in text for text in page.not_tested) == len(skipped), "certificate, skipped"
    assert page.failed == len(failed), "certificate, totals"
    assert page.borderline == sum(word == "borderline" for word in verdicts.values()), "certificate, totals"


def readers_of_the_tries(t: Telling) -> None:
    """What the next try is taken together with, and how many tries the certificate tells."""
    history = t.history
    if not history.visits:
        return
    here = [r for r in history.results if r.visit_id == history.visits[-1].id]
    for key, done in tries.by_key(here).items():
        taken = pooled(done, history.treatments, SHEET)
        words = t.expected.together.get(key, [])
        assert [a.readings for a in taken] == [TRIES[word][0].readings for word in words], "taken together"
        counts = LightCheck().going_on(taken, shipped()).before
        told = [a.readings[0] for a in taken if a.readings[0].name == "beats"]
        assert counts.beats == (told[-1].value if told else 0), "presses on beats"
    if not certificate_is_possible(t):
        return
    standing = tries.standing(history.results)
    for block in certificate(t).controls:
        for line in block.lines:
            visit = standing[line.check, block.control].visit_id
            made = [
                r for r in history.results if (r.visit_id, r.check, r.control) == (visit, line.check, block.control)
            ]
            assert line.tries == len(made), "certificate, number of tries"


def readers_of_what_is_older(t: Telling) -> None:
    history, older, verdicts = t.history, t.expected.older(), t.expected.verdicts()
    found = treated.older(history, SHEET)
    assert set(found) == older
    for key in verdicts:
        (row,) = visit_table(only(history, key), {}, older=found).rows
        assert row.label.startswith("older: ") == (key in older), "record pane"
        assert ("not tested since" in row.tip) == (key in older), "record pane"
    if not certificate_is_possible(t):
        return
    page = certificate(t)
    lines = {(line.check, block.control): line for block in page.controls for line in block.lines}
    assert {key for key, line in lines.items() if line.older} == older, "certificate, lines"
    holding = [key for key, word in verdicts.items() if word == "pass" and key not in older]
    assert page.passed == len(holding), "certificate, passed"
    assert page.older == len(older), "certificate, older"
    if history.treatments:
        last = history.treatments[-1]
        changed = {key for key in found if found[key].id == last.id}
        assert changed <= set(treated.due_again(history, [last], SHEET)), "what to test again"


def readers_of_the_rest(t: Telling) -> None:
    """The records' gate and due list, lots, certificate and view on the second test."""
    history, second = t.history, t.expected.second_test()
    due, older, ready = t.expected.due(), t.expected.older(), t.expected.ready
    visit = None if second is None else history.visits[second]

    assert bool(t.store.due(t.today)) == (due and not ready), "records, due list"
    if not ready:
        assert t.may_become_ready() == (not due and not older), "records, what may be called ready"
    rows = view(t, f"SELECT visit_id FROM second_tests WHERE unit_id = '{t.unit_id}'")
    assert rows == ([(visit.id,)] if visit else []), "view second_tests"

    sound = not evidence_of(history).seen and bool(t.expected.verdicts()) and all(t.expected.finished)
    stage = outlook_of(history, SHEET, GUIDE, today=t.today).stage
    if sound and not ready and treated.untested(history, SHEET) is None:
        assert stage == ("rest" if due else "test" if older else "sound"), "lots"
    if not certificate_is_possible(t) or not history.treatments:
        return
    page = certificate(t)
    excused = t.expected.excused and (due or bool(older))
    assert any(REASON in text for text in page.deviations) == excused, "certificate, called ready early"
    said = page.rest
    assert (REASON in said) == (excused and due), "certificate, rest"
    before = [x for x in history.treatments if visit is not None and x.at < visit.started_at]
    assert said.startswith("Tested again") == bool(before), "certificate, rest"
    if visit is not None and before:
        assert visit.started_at[:10] in said, "certificate, rest"


def only(history, key):
    return replace(history, results=tuple(r for r in history.results if (r.check, r.control) == key))


def certificate_is_possible(t: Telling) -> bool:
    """`certificate_of` refuses a unit without a verdict; so do the readers here."""
    return bool(tries.verdicts(t.history.results))


def view(t: Telling, query: str) -> list[tuple[object, ...]]:
    with t.store._connections.reading() as db:
        return [tuple(row) for row in db.execute(query).fetchall()]


@pytest.mark.parametrize("name", STORIES)
def test_every_reader_gives_one_answer(name: str, tmp_path: Path):
    with told(tmp_path, STORIES[name]) as t:
        ask_every_reader(t)


@pytest.mark.parametrize("words", list(product(TRIES, repeat=2)), ids=" then ".join)
def test_every_pair_of_tries_has_one_answer(words: tuple[str, str], tmp_path: Path):
    with told(tmp_path, [INTAKE, *((word, *CONTACT) for word in words), ("finish",)]) as t:
        ask_every_reader(t)


MISTAKES: tuple[Event, ...] = (
    ("fail", *SWEEP), ("treat", "replace board", "Board"), ("pass", *LIGHT), ("skip", *CONTACT), ("note",), ("unit",),
    ("by hand fail", *LINK), ("sold",), ("treat", "clean from outside", "Stick sensor, horizontal"), ("pass", *FIRM),
    ("part",), ("interrupted", *REST), ("again, 12 presses", *LIGHT),
)  # fmt: skip


def with_mistakes(events: list[Event], start: int) -> list[Event]:
    """The story with something recorded and withdrawn after each event, and before the first what needs no visit."""
    told: list[Event] = [("mistake", ("note",)), ("mistake", ("unit",))]
    for k, event in enumerate(events):
        told += [event, *(("mistake", MISTAKES[(start + 3 * k + n) % len(MISTAKES)]) for n in range(3))]
    return told


def of_all_records(t: Telling, folder: Path) -> dict[str, object]:
    """What readers of more than one unit make of the records: lot, money, learning, grade, lists, files, views."""
    store, history = t.store, t.history
    (lot,) = store.lots()
    shelf, histories = store.shelf(), store.histories_of_lot(lot.id)
    trials = trials_from(store.treated(), GUIDE, lambda _: SHEET)
    view_of_lot = lot_view(lot, [outlook_of(h, SHEET, GUIDE, trials, shelf, t.today) for h in histories], shelf, GUIDE)
    store.export(folder)
    rows = {}
    for table in TABLES:
        with (folder / f"{table}.csv").open(encoding="utf-8-sig", newline="") as file:
            rows[table] = len(list(csv.reader(file)))
    views = {name: view(t, f"SELECT count(*) FROM {name}") for name in VIEWS}
    return {
        "money of the lot": view_of_lot.money,
        "shares of the lot": (view_of_lot.intake, view_of_lot.cleaning),
        "states of the lot": store.lot_states()[lot.id],
        "units": (len(store.units()), len(store.units("SM")), len(store.units_of_lot(lot.id))),
        "learning": [(trial.model, trial.role, round(trial.weight, 9)) for trial in trials],
        "grade": headline(grading_of(history, KEYS, SHEET, standard())),
        "unfinished": len(store.unfinished_visits()),
        "shelf": shelf,
        "csv": {table: rows[table] for table in TABLES if table not in ("log", "withdrawals", "overrides")},
        "views": views,
        "units by serial": store.unit_by_serial(0x1209, 1, "PT2-7-99"),
    }


@pytest.mark.parametrize("name", STORIES)
def test_what_was_withdrawn_is_counted_nowhere(name: str, tmp_path: Path):
    """Every reader gives the answer of the story in which the mistakes were never made."""
    events = STORIES[name]
    with told(tmp_path / "wrong", with_mistakes(events, len(name))) as t, told(tmp_path / "right", events) as right:
        assert len(t.history.withdrawn) > len(events)
        ask_every_reader(t)
        ours, theirs = of_all_records(t, tmp_path / "a"), of_all_records(right, tmp_path / "b")
        assert ours == theirs
        assert t.store.verify_log().faults == ()


def test_a_certificate_names_the_results_that_were_withdrawn_and_no_other_mistake(tmp_path: Path):
    events = with_mistakes([INTAKE, ("pass", *SWEEP), ("pass", *LIGHT), ("finish",)], 0)
    with told(tmp_path, events) as t:
        said = [line for line in certificate(t).deviations if MISTAKEN in line]
        mistakes = [event[1] for event in events if event[0] == "mistake"]
        verdicts = [what for what in mistakes if what[0] in SAYS and what[0] != "skip"]  # type: ignore[index]
        assert len(said) == len(verdicts) > 2
        assert "Left stick, slow sweep (fail, 2026-03-06) was withdrawn on 2026-03-06 and is not counted" in said[0]
        assert not any(line.minutes == 30 for line in certificate(t).treatments)


EVENTS = st.one_of(
    st.sampled_from(MISTAKES).map(lambda what: ("mistake", what)),
    st.tuples(st.sampled_from(sorted(TRIES)), st.sampled_from(KEYS)).map(lambda pair: (pair[0], *pair[1])),
    st.tuples(st.just("visit"), st.sampled_from(("after treatment", "after rest", "final"))),
    st.sampled_from(sorted(TREATMENTS)).map(lambda what: ("treat", *what)),
    st.tuples(st.just("days"), st.integers(1, 4)),
    st.sampled_from((("finish",), ("ready",), ("open",))),
)


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(EVENTS, max_size=25))
def test_any_sequence_has_one_answer(tmp_path_factory: pytest.TempPathFactory, events: list[Event]):
    """A try belongs to the visit that is open: a finished one is gone on with a new one of the kind final."""
    with told(tmp_path_factory.mktemp("story"), [INTAKE]) as t:
        for event in events:
            if event[0] in TRIES and t.expected.finished[-1]:
                t.tell(FINAL)
            t.tell(event)
        ask_every_reader(t)


CAPTURED = {"pass": [400, 900, 1400], "again": [400, 900], "fail": [400], "interrupted": [400, 900]}
"""presses of a contact check that the marks of a recording bracket, in ms: what such a try comes to"""
RECORDED = [words for n in (1, 2, 3) for words in product(CAPTURED, repeat=n)]


@pytest.mark.parametrize("words", RECORDED, ids=" then ".join)
def test_a_recording_read_again_counts_as_the_records_do(words: tuple[str, ...]):
    script = made_captures.Script()
    for word in words:
        moves = {made_captures.button(1): made_captures.presses(CAPTURED[word], 2500, 120)}
        if word == "fail":
            moves[made_captures.button(2)] = made_captures.presses(CAPTURED["pass"], 2500, 120)
            moves[made_captures.button(1)] = made_captures.presses(CAPTURED["pass"], 2500, 120)
        script.add("contact", "key_1", moves, ended=word != "interrupted")
    (done,) = assess_capture(script.capture(), made_captures.SHEET).checks
    assert done.assessment.outcome.value == Expected(visits=[{CONTACT: list(words)}]).shown(0)[CONTACT]
    assert done.tries == len(words)


def test_a_recording_read_again_takes_the_tries_of_a_press_together():
    """Two misses in nine fail; with 60 clean presses they are 2 of 69, as the bench counts them."""
    script = made_captures.Script()
    for count, missed in ((9, (2, 8)), (60, ())):
        beats = [1000.0 + 500 * k for k in range(count)]
        own = [b for k, b in enumerate(beats) if k not in missed]
        moves = {made_captures.button(1): made_captures.presses(own, beats[-1] + 900)}
        script.add("light", "key_1", moves, beats_ms=beats)
    (done,) = assess_capture(script.capture(), made_captures.SHEET).checks
    found = {r.name: r.value for r in done.assessment.readings}
    assert (found["beats"], found["missed"], found["tries"], done.tries) == (69, 2, 2, 2)
    assert done.assessment.outcome is Outcome.BORDERLINE


def test_the_views_take_a_look_and_being_left_alone_for_no_test(tmp_path: Path):
    """The view of what stands had kept a look, and that of second tests a unit that was left alone."""
    rested = [INTAKE, ("pass", *SWEEP), ("finish",), CLEAN, ("days", 4), ("visit", "after rest")]
    events: list[Event] = [*rested, ("fail", "glance", "left_stick"), ("pass", "alone", ""), ("finish",)]
    with told(tmp_path, events) as t:
        assert view(t, "SELECT visit_id FROM second_tests") == []
        assert ("glance",) not in view(t, "SELECT check_name FROM standing_results")
