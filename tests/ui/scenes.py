"""Scenes for tests, screenshots and the frame bench: a demo unit in the middle of a visit. All invented."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from fake_desk import DEVICE, FakeDesk, button, hat, plover, stick, trigger

from station.bench.teaching_types import Doubt, TeachView
from station.bench.types import BeatView
from station.checks.types import Assessment, Finding, Outcome, Progress, Reading
from station.lots.money import LotMoney
from station.lots.outlook import GoodPart, NextStep
from station.lots.shares import Share
from station.lots.view import DONOR, NOWHERE, SHELF, DonorProposal, LotView, PartWaited, WorkRow
from station.records.types import Lot, Note, Result, ShelfPart, Treatment, Unit, Visit
from station.sheets.learn import Ignored, Learned, LearnStep, Question, usual_controls, walk
from station.sheets.signals import Signal
from station.ui.live.dial_layer import RimView
from station.ui.ports import DueRow, LotAnswer, ProposalView, SuspectView
from station.ui.window import MainWindow

NOW_NS = 40_000_000_000


def workshop(desk: FakeDesk) -> None:
    """Lot SM-07 of the Saltmarsh Reuse Workshop, its units, some parts, some due."""
    lot = Lot("lot-7", "SM-07", "2026-11-18", "youth games room, closed", 9600, "EUR", "twelve pads")
    desk.lot_rows = [lot, Lot("lot-6", "SM-06", "2026-10-30", "school clearance", 4000)]
    claims = {
        1: ("", "ready"),
        2: ("right trigger sticks", "ready"),
        3: ("dead", "donor"),
        4: ("left stick goes by itself", "open"),
        5: ("buttons bad", "open"),
        6: ("", "sold"),
    }
    for k in range(1, 13):
        claim, becomes = claims.get(k, ("", "open"))
        state = "confirmed" if becomes in ("ready", "donor") and claim else "open"
        rest = "2026-11-27" if k in (2, 5) else "2026-11-24" if k == 8 else ""
        serial = f"PT2-{415 + k:04d}"
        desk.unit_rows.append(
            Unit(f"unit-{k}", f"SM-07-{k:02d}", "Plover T2", "lot-7", serial, 0x1209, 1, "Plover T2", claim, state,
                 "light marks, left grip worn" if k == 4 else "", becomes, rest, "2026-11-18T08:00:00+00:00")
        )  # fmt: skip
    desk.shelf_rows = [
        ShelfPart("p1", "Stick sensor", "Plover T2", 6, None, 210),
        ShelfPart("p2", "Shoulder contact", "Plover T2", 2, "unit-3", 0, note="from SM-07-03"),
        ShelfPart("p3", "Stick cap, pair", "Plover T2", 4, None, 90),
    ]
    units = {u.tag: u for u in desk.unit_rows}
    desk.due_rows = [
        DueRow(units["SM-07-08"], "2026-11-21", True),
        DueRow(units["SM-07-02"], "2026-11-24", False),
        DueRow(units["SM-07-05"], "2026-11-24", False),
    ]


def lot_picture(desk: FakeDesk) -> None:
    """What the diagnosis would say of lot SM-07: a donor for two, a part on the shelf, a sale without a price."""
    workshop(desk)
    lot = desk.lot_rows[0]
    units = {u.tag[-2:]: u for u in desk.unit_rows}
    sensor, contact = "Left stick sensor, horizontal", "Left shoulder contact"
    steps = (
        ("04", NextStep(f"{sensor}: replace the sensor", "cures 6 of 7 like it", 25, 1240, "replace sensor", sensor)),
        ("07", NextStep("Call it ready", "nothing was found in what was tested", 0, 2100)),
        ("09", NextStep(f"{contact}: open and clean", "cures 3 of 4 like it (28–97 %)", 8, 870, "open and clean")),
        ("10", NextStep("Test it: intake", "nothing was tested yet")),
        ("08", NextStep("Stop: sell as is, with its faults named", "going on brings less", 0, -141)),
        ("05", NextStep("Let it rest until 2026-11-27", "then its second test")),
    )
    gives = (
        GoodPart("a", sensor, True, True),
        GoodPart("b", contact, True, True),
        GoodPart("c", "Right stick spring", False, False),
    )
    view = LotView(
        lot,
        tuple(desk.unit_rows),
        LotMoney("EUR", 12, 9600, 250, 60, 1800, 2900, 1, 11_000),
        8310,
        tuple(WorkRow(units[tag], step, tag == "04") for tag, step in steps),
        (DonorProposal(units["08"], ((units["04"], sensor), (units["09"], contact)), gives, 1030),),
        (
            PartWaited(units["04"], sensor, SHELF, "SM-07-03", 1),
            PartWaited(units["09"], contact, DONOR, "SM-07-08"),
            PartWaited(units["11"], "Board", NOWHERE),
        ),
        Share(3, 12, 0.089, 0.532),
        None,
        ("Sold without a price: SM-07-06; B on the unit writes it down.",),
    )
    desk.lot_answers[lot.id] = LotAnswer(view, True)


def _pct(name: str, value: float, limit: float, fail: float, u: float = 0.3, unit: str = "%") -> Reading:
    return Reading(name, value, unit, u, limit, fail, "<=" if fail >= limit else ">=", 3000)


def _stick_result(rest: float, let: float, left: float) -> dict[tuple[str, str], Assessment]:
    """Readings of a left stick and a weak left shoulder as they stood at one visit."""
    fail = Outcome.FAIL
    return {
        ("rest", "left_stick"): Assessment(
            fail,
            (_pct("offset", rest, 5, 10), _pct("noise_pp_x", 2.1, 1.5, 4, 0.2), _pct("noise_pp_y", 0.6, 1.5, 4, 0.2)),
            (Finding("offset", f"Left stick rests {rest:.1f} % off centre, to the right", "x", "right"),),
        ),
        ("letgo", "left_stick"): Assessment(
            fail, (_pct("settle_offset", let, 6, 12, 0.4), _pct("settle_time", 84, 150, 400, 2, "ms")),
            (Finding("no_return", "Left stick does not return from the right", "x", "right"),),
        ),
        ("travel", "left_stick"): Assessment(
            fail if left < 88 else Outcome.BORDERLINE,
            (_pct("reach_up", 99, 95, 88), _pct("reach_left", left, 95, 88)),
            (Finding("short_reach", f"Left stick reaches only {left:.0f} % to the left", "x", "left"),),
        ),
    }  # fmt: skip


def left_shoulder(desk: FakeDesk, finished_visits: bool = True) -> None:
    """SM-07-04 at its third visit, the light press of the left shoulder running: the scene of the first screenshot."""
    workshop(desk)
    desk.the_sheet = plover()
    desk.known_devices = [DEVICE]
    unit = next(u for u in desk.unit_rows if u.tag == "SM-07-04")
    if finished_visits:
        _earlier_visits(desk, unit)
    desk.start_visit(unit.id, DEVICE, "after treatment")
    desk.visits[-1] = replace(desk.visits[-1], started_at="2026-11-25T10:41:00+00:00", treatment_id="t1")
    desk.update(visit=desk.visits[-1])
    _done_steps(desk)
    desk.suspect_rows = (
        SuspectView("Left stick sensor, horizontal", 0.71),
        SuspectView("Left stick spring or cap", 0.17),
        SuspectView("Left shoulder contact", 0.88),
        SuspectView("Left shoulder bar (plastic)", 0.12),
    )
    desk.the_proposal = ProposalView(
        "clean the sensor, housing open",
        "cures 3 of 4 like it (28–97 %), 9 min, € 0.40",
        "replace the sensor, 25 min, € 2.10",
        "Unplug, cell disconnected, then solvent. Air the bench. Follow local rules.",
        "clean the sensor",
        "Left stick sensor, horizontal",
        9,
        40,
    )
    desk.take_events()
    light = desk.index_of("light", "left_shoulder")
    desk._go_to(light)
    desk._start(light)
    desk.now_ns = NOW_NS
    beats = [NOW_NS - round((0.15 + 0.62 * k) * 1e9) for k in range(15)][::-1]
    states = ["missed" if k == 4 else "registered" for k in range(15)]
    desk.update(
        beats=tuple(BeatView(t, s) for t, s in zip(beats, states, strict=True)),
        progress=Progress(False, "15 beats · 1 missed · one more fails it", 0.5),
    )
    feed_ten_seconds(desk, beats, missed=4)
    desk.take_events()


def _earlier_visits(desk: FakeDesk, unit: Unit) -> None:
    for number, (kind, at, values) in enumerate(
        (
            ("intake", "2026-11-24T10:12:00+00:00", (14.8, 19.2, 71)),
            ("after treatment", "2026-11-24T10:26:00+00:00", (11.0, 13.1, 80)),
        ),
        start=1,
    ):
        visit = Visit(f"v{number}", unit.id, kind, number, at, at, treatment_id="t0" if number == 2 else None)
        desk.visits.append(visit)
        for (check, control), assessment in _stick_result(*values).items():
            desk.results.append(Result(desk.new_id(), visit.id, check, control, 1, at, assessment))
        rest = Assessment(Outcome.PASS, (_pct("offset", 1.3 - 0.1 * number, 5, 10),))
        desk.results.append(Result(desk.new_id(), visit.id, "rest", "right_stick", 1, at, rest))
        faulty = (64.0, 33.0)[number - 1]
        press = Assessment(
            Outcome.FAIL,
            (_pct("faulty_rate", faulty, 1, 10, 0),),
            (Finding("misses", "Left shoulder misses light presses"),),
        )
        desk.results.append(Result(desk.new_id(), visit.id, "light", "left_shoulder", 1, at, press))
    desk.treatments += [
        Treatment("t0", unit.id, "clean from outside", "2026-11-24T10:20:00+00:00", minutes=4, cost_minor=10),
        Treatment("t1", unit.id, "open and clean", "2026-11-25T10:30:00+00:00", minutes=11, cost_minor=40),
    ]
    desk.notes.append(Note("n1", unit.id, "2026-11-24T10:15:00+00:00", "Left grip worn, three photos taken"))


def _done_steps(desk: FakeDesk) -> None:
    """Part of the checklist is done."""
    session = desk.the_session
    assert session is not None
    stick_now = _stick_result(10.2, 12.6, 84)
    for k, view in enumerate(session.steps):
        key = (view.step.check, view.step.control)
        assessment = stick_now.get(key)
        if assessment is None:
            if key[0] in ("rim", "sweep") or key[1] == "back_right" or key == ("light", "left_shoulder"):
                continue
            if key == ("hold", "left_shoulder"):
                continue
            assessment = Assessment(Outcome.PASS)
            if key == ("rest", "right_stick"):
                assessment = Assessment(Outcome.PASS, (_pct("offset", 1.1, 5, 10),))
            if key[0] == "charge":
                assessment = Assessment(Outcome.BORDERLINE, (Reading("vbus_low", 4.98, "V", 0.0, 4.4, 4.2, ">="),))
        desk.set_step(k, state="done", outcome=assessment.outcome, attempts=1, assessment=assessment)
        at = "2026-11-25T10:45:00+00:00"
        desk.results.append(Result(desk.new_id(), session.visit.id, *key, 1, at, assessment))


def rim_marks() -> tuple[np.ndarray, np.ndarray]:
    """A rim that falls short towards the lower left."""
    bearing = np.arange(72) * 5.0
    dip = 15 * np.exp(-(((bearing - 237) / 22) ** 2))
    return np.ones(72, np.bool_), 99.0 - dip


def feed_ten_seconds(desk: FakeDesk, beats: list[int], missed: int) -> None:
    """What the unit reported in the ten seconds before now, with a press that opened for a split second."""
    from station.sheets.signals import ButtonSignal

    def presses(times: list[int], hold_ms: list[float]) -> Signal:
        t: list[int] = [times[0] - 500_000_000]
        closed = [False]
        for at, hold in zip(times, hold_ms, strict=True):
            t += [at, at + round(hold * 1e6)]
            closed += [True, False]
        return ButtonSignal(np.array(t), np.array(closed))

    rng = np.random.default_rng(4)
    holds = [float(v) for v in rng.uniform(180, 330, len(beats))]
    kept = [
        (b + round(v * 1e6), h)
        for b, v, h, k in zip(beats, rng.uniform(-40, 60, 15), holds, range(15), strict=True)
        if k != missed
    ]
    t: list[int] = [beats[0] - 500_000_000]
    closed = [False]
    for k, (at, hold) in enumerate(kept):
        t += [at]
        closed += [True]
        if k == 10:
            # a split second inside the press: a millisecond open
            t += [at + 120_000_000, at + 121_000_000]
            closed += [False, True]
        t += [at + round(hold * 1e6)]
        closed += [False]
    signals: dict[str, Signal] = {"left_shoulder": ButtonSignal(np.array(t), np.array(closed))}
    signals["right_shoulder"] = presses([b + 30_000_000 for b in beats], [h * 0.9 for h in holds])
    signals["south"] = presses([NOW_NS - 6_600_000_000], [560])
    signals["left_stick_press"] = presses([NOW_NS - 4_600_000_000], [540])
    for name in ("east", "west", "north", "right_stick_press", "back_left"):
        signals[name] = button(NOW_NS - 10_000_000_000, False)
    signals["direction_pad"] = hat(NOW_NS - 10_000_000_000, -1)
    span = NOW_NS - 2_000_000_000 + np.arange(2000) * 1_000_000
    signals["left_stick"] = stick(span, 10.2 + 0.3 * np.sin(np.arange(2000)), -1.5 + 0.2 * np.cos(np.arange(2000)))
    bearing = np.linspace(0.5, 4.2, 300)
    rim_t = NOW_NS - 300_000_000 + np.arange(300) * 1_000_000
    signals["right_stick"] = stick(rim_t, 99 * np.sin(bearing), 99 * np.cos(bearing))
    signals["left_trigger"] = trigger(NOW_NS - 1_000_000, 0.6)
    signals["right_trigger"] = trigger(NOW_NS - 1_000_000, 62.0)
    desk.feed(**signals)
    desk.reports = 16


def generator_1khz(seed: int = 1) -> object:
    """A simulated unit for the frame bench: `signals(from_ns, to_ns)` at 1,000 reports a second, everything moving."""
    return _Generator(seed)


class _Generator:
    def __init__(self, seed: int) -> None:
        self._rng = np.random.default_rng(seed)

    def signals(self, from_ns: int, to_ns: int) -> dict[str, Signal]:
        first = -(-from_ns // 1_000_000)
        t = np.arange(first, -(-to_ns // 1_000_000)) * 1_000_000
        if not len(t):
            return {}
        from station.sheets.signals import ButtonSignal, HatSignal

        s = t * 1e-9
        noise = self._rng.normal(0, 0.4, len(t))
        out: dict[str, Signal] = {
            "left_stick": stick(t, 95 * np.sin(2.1 * s) + noise, 95 * np.cos(2.1 * s) + noise),
            "right_stick": stick(t, 60 * np.sin(3.3 * s) + noise, 60 * np.cos(1.7 * s)),
            "left_trigger": trigger(t, 50 + 50 * np.sin(s)),
            "right_trigger": trigger(t, 50 + 50 * np.cos(s)),
            "direction_pad": HatSignal(t, ((s * 3).astype(np.int64) % 9 - 1).astype(np.int8)),
        }
        for k, name in enumerate(b for b in plover_buttons()):
            out[name] = ButtonSignal(t, np.sin((2.0 + 0.3 * k) * math.tau * s) > 0.6)
        return out


def plover_buttons() -> list[str]:
    return [c.id for c in plover().controls if c.kind == "button"]


def show_rims(window: MainWindow) -> None:
    """What the rim checks of both sticks left on the dials."""
    seen, reach = rim_marks()
    left, right = window.live.dials["left_stick"], window.live.dials["right_stick"]
    left.set_rim(RimView(seen, reach))
    left.set_settled([(10.2, -1.0), (12.6, -2.0), (9.0, 1.0)])
    part = seen.copy()
    part[42:62] = False
    right.set_rim(RimView(part, np.full(72, 99.0)))
    right.set_settled([(1.1, 0.2), (0.4, -0.8), (-0.6, 0.5)])


def rolling(desk: FakeDesk) -> None:
    """The right stick is being rolled round its rim."""
    step = desk.index_of("rim", "right_stick")
    desk._go_to(step)
    desk._start(step)
    seen, reach = rim_marks()
    seen[42:62] = False
    readings = (
        Reading("sectors", 52, "", 0.0, 72, 71.5, ">="),
        Reading("least_reach", 84.0, "%", 0.6, 92, 85, ">="),
        Reading("two_way_difference", 2.1, "%", 0.5, 4, 8),
    )
    marks = {"sectors": seen, "sector_reach": reach}
    desk.update(progress=Progress(False, "20 sectors to go, then the other way", 0.4, readings, marks))


def sweeping(desk: FakeDesk) -> None:
    """The left stick is being moved slowly across, and its track is noisy."""
    step = desk.index_of("sweep", "left_stick")
    desk._go_to(step)
    desk._start(step)
    t = NOW_NS - 9_000_000_000 + np.arange(9000) * 1_000_000
    x = 98 * np.sin(np.arange(9000) / 9000 * 3.5 * np.pi)
    rng = np.random.default_rng(3)
    spikes = rng.integers(0, 9000, 9)
    x[spikes] += rng.uniform(12, 30, 9)
    desk.feed(left_stick=stick(t, x, 2 * np.sin(np.arange(9000) / 900)))
    readings = (
        Reading("spikes_x", 9, "", 0.0, 0, 2),
        Reading("largest_spike_x", 29.4, "%", 0.4, 2, 5),
        Reading("gap_x", 1.2, "%", 0.2, 3, 8),
        Reading("spikes_y", 0, "", 0.0, 0, 2),
        Reading("gap_y", 0.8, "%", 0.2, 3, 8),
    )
    desk.update(progress=Progress(False, "vertical: three crossings to go", 0.55, readings))


# --- a device that is taught ---------------------------------------------------------------------------------

SCRIPT = walk(usual_controls(face=6, centre=4, paddles=4))
_QUESTIONS = (
    Question("left_stick", "Left stick: it covered only part of the codes that its bits can hold.", SCRIPT[2:4]),
    Question("left_shoulder", "Left shoulder: nothing in the reports answered to it.", SCRIPT[6:7]),
)
LEARNED = Learned(
    replace(plover(), controls=plover().controls[1:]), {c.id: 0.98 for c in plover().controls}, _QUESTIONS,
    ignored=(Ignored("counter", 1, 8, 8), Ignored("checksum", 1, 80, 8), Ignored("checksum", 1, 88, 8)),
)  # fmt: skip
ANSWERING = TeachView(
    "Two-stick test pad", "answering", seen=30, learned=LEARNED,
    doubts=(
        Doubt(_QUESTIONS[0], ("again", "write", "leave"), "again"), Doubt(_QUESTIONS[1], ("again", "leave"), "again"),
    ),
)  # fmt: skip


def walking(step: LearnStep, **changes: object) -> TeachView:
    """A lesson in the middle of a step."""
    number = SCRIPT.index(step) + 1
    following = SCRIPT[number] if number < len(SCRIPT) else None
    view = TeachView("Two-stick test pad", "walking", step, following, number, len(SCRIPT), step.seconds, 100.0)
    return replace(view, **changes)  # type: ignore[arg-type]
