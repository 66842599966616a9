"""A unit left alone: what it does by itself is found, over restarts, unplugging and a full disk, in bounded memory."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path
from uuid import UUID

import pytest

from station.bench import ledger as ledgers
from station.bench.alone import SETTLES_NS, Ended, LeftAlone, assessed
from station.bench.ledger import Asked, Ledger, kept_in
from station.capture.file import read_capture, write_capture
from station.capture.journal_writer import JournalWriter
from station.capture.types import CaptureMeta
from station.checks.alone import spans_of
from station.checks.types import Outcome
from station.evidence.assess import assess_capture, takes_of
from station.sheets.bind import bind
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec, faults
from tests.bench_session.test_simulated_visit import sheet_of

DESIGN = PadDesign("8bit", 125)
SHEET = sheet_of(DESIGN)
BINDING = bind(SHEET, DESIGN.layout)
MINUTE = 60.0
STEP_S = 0.5


class Bench:
    """A simulated unit that is left alone, on a clock that is moved by hand."""

    def __init__(
        self, folder: Path, *fault: faults.Fault, minutes: float = 10.0, design: PadDesign = DESIGN, seed: int = 3
    ) -> None:
        self.folder, self.design = folder, design
        self.binding = BINDING if design is DESIGN else bind(sheet_of(design), design.layout)
        self.source = SimulatedSource(UnitSpec(design, seed, fault), SimulatedHand(1.0, 1), realtime=False)
        self.source.advance(1.0)
        info = self.source.info
        meta = CaptureMeta(
            info.vendor_id, info.product_id, info.product, "", "simulated", "2026-11-25T09:00:00Z", design.name
        )
        self.asked = Asked(str(UUID(int=seed)), "unit", "SM-07-03", "visit", meta.started_at, 60 * minutes, "1-2",
                           info.descriptor, meta)  # fmt: skip
        self.began_ns = self.source.now_ns()
        self.slept_ns = 0
        self.left = LeftAlone(Ledger(folder, self.asked), self.binding, self.now_ns)
        self.left.attach(self.source)

    def now_ns(self) -> int:
        return self.source.now_ns() - self.began_ns + self.slept_ns

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds / STEP_S)):
            self.source.advance(STEP_S)
            self.left.tick()

    def restart(self, dead_s: float, *, killed: bool = False) -> None:
        """The program ends (or is killed), and is started again after a while."""
        if not killed:
            self.left.close()
        self.source.advance(dead_s)
        ((asked, before),) = kept_in(self.folder)
        assert asked == self.asked
        self.left = LeftAlone(Ledger(self.folder, asked), self.binding, self.now_ns, before=before, resumed=True)
        self.left.attach(self.source)

    def end(self) -> Ended:
        while not self.left.over:
            self.wait(STEP_S)
        return self.left.end(by_hand=False)


def codes(ended: Ended) -> set[str]:
    return {f.code for f in ended.assessment.findings}


def value(ended: Ended, name: str) -> float:
    found = next(r.value for r in ended.assessment.readings if r.name == name)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("fault", "found", "outcome"),
    [
        ((), set(), Outcome.PASS),
        ((faults.closes_at_times("south", 31.0, 80.0, 7.0),), {"moves_alone"}, Outcome.FAIL),
        ((faults.closes_at_times("south", 4000.0, 80.0, 200.0),), {"moves_alone"}, Outcome.BORDERLINE),
        ((faults.twitches("right_stick", "x", 120.0, 40.0, 60.0, 100.0),), {"moves_alone"}, Outcome.FAIL),
        ((faults.twitches("right_stick", "x", 400.0, 40.0, 15.0, 100.0),), {"leaves_rest"}, Outcome.FAIL),
        ((faults.drifts("left_stick", "x", 8.0, 400.0),), {"drifts"}, Outcome.FAIL),
        ((faults.drops_out(150.0, 3.0, 60.0),), {"dropped_out"}, Outcome.FAIL),
        ((faults.stuck("south"), faults.off_centre("left_stick", "up", 30.0)), set(), Outcome.PASS),
    ],
    ids=[
        "a sound unit passes",
        "a button that closes every 31 seconds fails",
        "once in ten minutes is borderline",
        "a stick that twitches moves by itself",
        "a stick that twitches a little leaves its rest",
        "a stick that drifts over minutes drifts",
        "a unit that drops off the bus disconnects",
        "what is so from the first did not happen meanwhile",
    ],
)
def test_what_a_unit_does_by_itself(
    tmp_path: Path, fault: tuple[faults.Fault, ...], found: set[str], outcome: Outcome
) -> None:
    ended = Bench(tmp_path, *fault).end()
    assert codes(ended) == found
    assert ended.assessment.outcome is outcome


def test_the_evidence_read_again_says_the_same(tmp_path: Path) -> None:
    bench = Bench(
        tmp_path, faults.closes_at_times("south", 31.0, 80.0, 7.0), faults.drifts("left_stick", "y", 4.0, 300.0)
    )
    ended = bench.end()
    again = read_capture(write_capture(ended.capture))
    assert assess_capture(again, SHEET).checks[0].assessment == ended.assessment
    assert value(ended, "by_itself") == 19


def test_a_unit_that_reports_on_change_only(tmp_path: Path) -> None:
    design = PadDesign("packed", 125, on_change=True)
    bench = Bench(tmp_path, faults.closes_at_times("south", 31.0, 80.0, 7.0), design=design)
    ended = bench.end()
    assert codes(ended) == {"moves_alone"}
    assert value(ended, "by_itself") == 19


@pytest.mark.parametrize("killed", [False, True], ids=["closed", "killed"])
def test_a_restart_loses_a_minute_at_most_and_the_gap_is_told(tmp_path: Path, killed: bool) -> None:
    bench = Bench(tmp_path, faults.closes_at_times("south", 31.0, 80.0, 7.0), minutes=20.0)
    bench.wait(5 * MINUTE + 40)
    bench.restart(3 * MINUTE, killed=killed)
    bench.wait(MINUTE)
    bench.restart(MINUTE, killed=killed)
    ended = bench.end()
    ((_, take),) = takes_of(ended.capture, SHEET)
    assert [a.away for a in take.absences] == [False, False]
    gone_s = sum(a.end_ns - a.begin_ns for a in take.absences) / 1e9
    assert 4 * MINUTE <= gone_s <= 4 * MINUTE + (2 * 61 if killed else 4)
    assert value(ended, "unwatched") == pytest.approx((gone_s + 2) / 60, abs=0.01)
    assert value(ended, "watched") + value(ended, "unwatched") == pytest.approx(20.0, abs=0.05)
    assert codes(ended) == {"moves_alone"}
    bench.left.forget()
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("spoil", ["gone", "cut to its header", "first byte"])
def test_what_nobody_watched_does_not_pass(tmp_path: Path, spoil: str) -> None:
    bench = Bench(tmp_path)
    bench.wait(30)
    bench.left.close()
    (journal,) = tmp_path.glob("*.journal")
    if spoil == "gone":
        journal.unlink()
    elif spoil == "first byte":
        journal.write_bytes(b"X" + journal.read_bytes()[1:])
    else:
        journal.write_bytes(journal.read_bytes()[: 8 + 12 + len(json.dumps(ledgers.journal_header(
            bench.asked.meta, bench.asked.descriptor)))])  # fmt: skip
    bench.source.advance(11 * MINUTE)
    ((asked, before),) = kept_in(tmp_path)
    bench.left = LeftAlone(Ledger(tmp_path, asked), bench.binding, bench.now_ns, before=before, resumed=True)
    ended = bench.left.end(by_hand=False)
    assert ended.assessment.outcome is Outcome.NOT_DONE
    assert value(ended, "watched") == 0.0
    assert "watched for 0 min" in ended.assessment.again


def test_a_journal_that_is_lost_in_between_was_not_watched(tmp_path: Path) -> None:
    bench = Bench(tmp_path, minutes=30.0)
    for _ in range(3):
        bench.wait(5 * MINUTE)
        bench.restart(10.0, killed=True)
    (tmp_path / f"{bench.asked.id}-001.journal").write_bytes(b"spoiled")
    bench.restart(0.0)
    ended = bench.end()
    assert value(ended, "unwatched") == pytest.approx(5.5, abs=0.2)


def test_a_beginning_that_is_lost_was_not_watched(tmp_path: Path) -> None:
    bench = Bench(tmp_path, minutes=30.0)
    bench.wait(5 * MINUTE)
    bench.restart(MINUTE)
    bench.wait(5 * MINUTE)
    (tmp_path / f"{bench.asked.id}-000.journal").write_bytes(b"spoiled")
    bench.restart(0.0)
    ended = bench.end()
    assert value(ended, "unwatched") == pytest.approx(5.9, abs=0.2)
    assert value(ended, "watched") + value(ended, "unwatched") == pytest.approx(30.0, abs=0.05)


@pytest.mark.parametrize(
    "wrong",
    [
        {"id": "*"}, {"id": "../x"}, {"begun_at": "x"}, {"begun_at": "0001-01-01T00:00:00.000Z"},
        {"seconds": float("nan")}, {"seconds": -1}, {"seconds": 1e300}, {"seconds": 10**400}, {"tag": 3},
        {"descriptor": "00" * 70_000}, "pipe", b"[" * 100_000, b"\0", b"{}",
    ],
    ids=str,
)  # fmt: skip
def test_a_file_that_this_program_never_wrote_is_put_aside_and_the_others_go_on(
    tmp_path: Path, wrong: dict[str, object] | str | bytes
) -> None:
    bench = Bench(tmp_path)
    bench.left.close()
    own = tmp_path / f"{bench.asked.id}.json"
    bad = tmp_path / f"{UUID(int=0)}.json"
    if wrong == "pipe":
        os.mkfifo(bad)
    elif isinstance(wrong, bytes):
        bad.write_bytes(wrong)
    else:
        assert isinstance(wrong, dict)
        bad.write_text(json.dumps({**json.loads(own.read_text("utf-8")), "id": bad.stem, **wrong}), "utf-8")
    told: list[Path] = []
    assert [asked for asked, _ in kept_in(tmp_path, told.append)] == [bench.asked]
    assert told == [tmp_path / f"{bad.name}.aside"]
    assert told[0].exists()
    assert not bad.exists()


def test_a_sleep_of_the_computer_was_not_watched(tmp_path: Path) -> None:
    bench = Bench(tmp_path, minutes=30.0)
    bench.wait(5 * MINUTE)
    bench.slept_ns += 600 * 10**9  # the reader's clock stood still
    ended = bench.end()
    ((_, take),) = takes_of(ended.capture, SHEET)
    assert [round((a.end_ns - a.begin_ns) / 1e9) for a in take.absences] == [pytest.approx(600, abs=2)]
    assert ended.assessment.outcome is Outcome.PASS
    assert value(ended, "unwatched") == pytest.approx(10.0, abs=0.1)


@pytest.mark.parametrize(
    ("gone_s", "drops"), [(2.0, 1), (20.0, 1), (90.0, 0)], ids=["briefly", "some seconds", "somebody pulled the plug"]
)
def test_unplugged_and_back(tmp_path: Path, gone_s: float, drops: int) -> None:
    bench = Bench(tmp_path, minutes=12.0)
    bench.wait(100)
    bench.source.unplug()
    bench.wait(gone_s)
    bench.source.replug()
    bench.wait(5)
    assert bench.left.view().disconnects == drops
    ended = bench.end()
    assert value(ended, "disconnects") == drops
    assert ended.assessment.outcome is (Outcome.FAIL if drops else Outcome.PASS)


def test_one_that_stays_away_is_judged_by_what_was_watched(tmp_path: Path) -> None:
    bench = Bench(tmp_path, minutes=20.0)
    bench.wait(3 * MINUTE)
    bench.source.unplug()
    assert bench.left.tick() is None
    ended = bench.end()
    assert ended.assessment.outcome is Outcome.NOT_DONE
    assert "ten minutes" in ended.assessment.again


def test_who_ends_it_by_hand_has_pressed_nothing(tmp_path: Path) -> None:
    bench = Bench(tmp_path, faults.closes_at_times("south", 1000.0, 500.0, 655.0), minutes=0.0)
    bench.wait(11 * MINUTE)
    assert bench.left.view().movements == 1
    assert bench.left.view().left_s is None
    assert bench.left.end(by_hand=True).assessment.outcome is Outcome.PASS


def test_a_full_disk_keeps_everything_and_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench(tmp_path, faults.closes_at_times("south", 31.0, 80.0, 7.0))
    bench.wait(90)
    full = {"is": True}
    real = JournalWriter._write_all

    def write(self: JournalWriter, data: bytes) -> None:
        if full["is"]:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(self, data)

    monkeypatch.setattr(ledgers.JournalWriter, "_write_all", write)
    bench.wait(3 * MINUTE)
    assert bench.left.view().problem == "No space left on device"
    full["is"] = False
    bench.wait(MINUTE + 1)
    assert bench.left.view().problem == ""
    bench.restart(1.0, killed=True)
    assert value(bench.end(), "by_itself") >= 17


def test_eight_units_at_once_do_not_mix(tmp_path: Path) -> None:
    benches = [
        Bench(tmp_path, *([faults.closes_at_times("south", 31.0, 80.0, 7.0)] if seed % 2 else []), seed=seed)
        for seed in range(8)
    ]
    for _ in range(round(615 / STEP_S)):
        for bench in benches:
            bench.source.advance(STEP_S)
            bench.left.tick()
    assert len(list(kept_in(tmp_path))) == 8
    ended = [bench.end() for bench in benches]
    assert [one.assessment.outcome is Outcome.FAIL for one in ended] == [bool(seed % 2) for seed in range(8)]


def test_a_night_fills_neither_memory_nor_disk(tmp_path: Path) -> None:
    """A contact that closes 60 times a minute: bounded by what thinning keeps, not by what it does."""
    bench = Bench(tmp_path, faults.closes_at_times("south", 1.0, 20.0), minutes=60.0)
    bench.wait(SETTLES_NS / 1e9 + 30 * MINUTE)
    bench.left._save(bench.now_ns())
    half = bench.left.capture()
    ended = bench.end()
    assert len(ended.capture.block) < 61 * (60 + 12 + 240) + 60 * 125
    grown = len(ended.capture.block) - len(half.block)
    assert 12 * 2 * grown * (DESIGN.report.width + 10) < 20e6  # twelve hours, in bytes
    assert value(ended, "by_itself") == pytest.approx(3600, abs=125)


def test_spans_leave_out_absences_and_the_moment_after(tmp_path: Path) -> None:
    bench = Bench(tmp_path, minutes=10.0)
    bench.wait(100)
    bench.source.unplug()
    bench.wait(5)
    bench.source.replug()
    ended = bench.end()
    ((_, take),) = takes_of(ended.capture, SHEET)
    (first, second) = spans_of(take)
    assert second[0] - first[1] == pytest.approx(6e9, abs=1.1e9)
    assert assessed(ended.capture, BINDING) == ended.assessment
