"""The person made of code: a whole visit without a person, on fakes."""

from __future__ import annotations

import pytest

from station.bench.auto import run_visit
from station.bench.plan import plan
from station.bench.types import AgainPlease, Event, ResultCommitted, VisitFinished
from station.checks.types import Outcome
from tests.bench_session.bench_fakes import MS, SHEET, Bench, FailingRecorder, FakeSource, S

BUTTON = {"left": 1, "right": 2}


class FakeHand:
    """Presses what is asked, twice for contact, once on each beat; `clumsy` first tries are only half done."""

    def __init__(self, source: FakeSource, clumsy: int = 0, idle: bool = False) -> None:
        self._source = source
        self._clumsy = clumsy
        self._idle = idle
        self._asked = ""
        self.log: list[tuple[str, str, str | None, str, int]] = []
        self.rests = 0

    def ask(
        self,
        check: str,
        control: str,
        twin: str | None,
        kind: str,
        beats_per_minute: int,
        at_ns: int,
        also: tuple[str, ...] = (),
    ) -> None:
        self.log.append((check, control, twin, kind, beats_per_minute))
        self._asked = control
        if self._idle:
            return
        if check == "contact":
            times = 1 if self._clumsy else 2
            self._clumsy = max(0, self._clumsy - 1)
            for i in range(times):
                self._press(at_ns + (300 + 200 * i) * MS)
        elif check == "link":
            for i in range(5):
                self._source.later(at_ns + (100 + 50 * i) * MS, 0)

    def beat(self, t_ns: int) -> None:
        self._press(t_ns + 60 * MS)

    def rest(self, at_ns: int) -> None:
        self.rests += 1

    def _press(self, at_ns: int) -> None:
        self._source.later(at_ns, BUTTON.get(self._asked, 1))
        self._source.later(at_ns + 80 * MS, 0)


def drive(bench: Bench, hand: FakeHand, **options: float) -> list[Event]:
    seen: list[Event] = []
    run_visit(bench.session, bench.source, hand, watch=seen.append, **options)  # type: ignore[arg-type]
    return seen


def test_a_whole_visit_is_worked_through() -> None:
    bench = Bench()
    hand = FakeHand(bench.source)
    seen = drive(bench, hand)
    assert bench.session.finished
    assert isinstance(seen[-1], VisitFinished)
    assert [(r.check, r.control, r.assessment.outcome) for r in bench.results] == [
        ("contact", "left", Outcome.PASS),
        ("contact", "right", Outcome.PASS),
        ("contact", "paddle", Outcome.PASS),
        ("light", "left", Outcome.PASS),
        ("light", "right", Outcome.PASS),
        ("rest", "stick", Outcome.PASS),
        ("link", "", Outcome.PASS),
        ("charge", "", Outcome.PASS),
        ("smell", "", Outcome.PASS),
    ]
    assert hand.log[3] == ("light", "left", "right", "button", 120)
    assert hand.log[-1] == ("link", "", None, "", 0)
    assert hand.rests == len([e for e in seen if isinstance(e, ResultCommitted)])
    assert next(r for r in bench.results if r.check == "charge").assessment.readings[0].value == 5.02


def test_a_try_that_did_not_count_is_done_again() -> None:
    bench = Bench()
    seen = drive(bench, FakeHand(bench.source, clumsy=1))
    assert len([e for e in seen if isinstance(e, AgainPlease)]) == 1
    assert [(r.attempt, r.assessment.outcome.value) for r in bench.results if r.control == "left"][:2] == [
        (1, "not done"),
        (2, "pass"),
    ]


def test_a_step_that_never_counts_is_left_with_a_reason() -> None:
    bench = Bench(steps=plan(SHEET)[:1])
    drive(bench, FakeHand(bench.source, clumsy=99))
    assert [r.assessment.outcome.value for r in bench.results] == ["not done"] * 5
    assert bench.results[-1].reason == "It did not count 4 times: again, please: press more"
    assert bench.session.finished


def test_a_full_disk_only_delays_the_visit() -> None:
    recorder = FailingRecorder()
    bench = Bench(recorder=recorder)
    hand = FakeHand(bench.source)
    free_at = bench.source.time_ns + 20 * S
    advance = bench.source.advance

    def with_disk(seconds: float) -> None:
        advance(seconds)
        full = 5 * S < bench.source.time_ns < free_at
        recorder.broken = "The disk is full; make room." if full else ""

    bench.source.advance = with_disk  # type: ignore[method-assign]
    drive(bench, hand)
    assert [r.assessment.outcome for r in bench.results] == [Outcome.PASS] * 9
    assert len(recorder.captures) == len({r.capture_sha256 for r in bench.results} - {""})


def test_an_unplug_in_the_middle_is_survived() -> None:
    bench = Bench()
    advance = bench.source.advance

    def loose_plug(seconds: float) -> None:
        advance(seconds)
        away = 2 * S < bench.source.time_ns < 3 * S
        bench.source.state, bench.source.message = ("lost", "Unplugged.") if away else ("live", "")

    bench.source.advance = loose_plug  # type: ignore[method-assign]
    drive(bench, FakeHand(bench.source))
    assert [r.assessment.outcome.value for r in bench.results].count("interrupted") == 1
    assert [v.outcome for v in bench.session.view().steps] == [Outcome.PASS] * 9


def test_a_check_that_never_completes_is_ended_by_the_key() -> None:
    bench = Bench(steps=plan(SHEET)[:1])
    drive(bench, FakeHand(bench.source, idle=True))
    assert [r.assessment.outcome for r in bench.results] == [Outcome.FAIL]
    assert bench.source.time_ns < 40 * S


def test_a_visit_that_does_not_end_is_a_fault() -> None:
    bench = Bench()
    with pytest.raises(RuntimeError, match="the visit is not finished after 8 s"):
        drive(bench, FakeHand(bench.source, idle=True), longest_s=8.0)
