"""Scenes for tests, screenshots and the frame bench: a demo unit in the middle of a visit. All invented.

Each scene is brought about: rows are written by the records' own methods, the pad's reports go through the real bench.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
from pad import BUTTONS, button, hat, plover, stick, trigger
from workbench import Workbench

from station.app import paths
from station.app.shelf_of_sheets import SheetShelf
from station.bench.plan import wanted_of
from station.bench.teaching_types import TeachView
from station.capture.file import write_capture
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.evidence.assess import assess_capture
from station.records.types import Lot, Note, Result, ShelfPart, Treatment, Unit
from station.sheets.learn import LearnStep, usual_controls, walk
from station.sheets.signals import ButtonSignal, HatSignal, Signal
from station.ui.window import MainWindow
from station.words.checks import LETGO_HIDES, LETGO_STILL_IN_WORDS
from tests.checks import axis_moves
from tests.checks.made_captures import BEATS_MS, SHEET, Script, X, Y, presses, stick_moves
from tests.checks.made_captures import button as button_usage

MODEL = "Plover T2"
SENSOR, OTHER_SENSOR = "Left stick sensor, horizontal", "Right stick sensor, horizontal"
Results = Mapping[tuple[str, str], Assessment]


def _on(desk: Workbench, day: int, hour: int, minute: int) -> None:
    """What is written now was written then, in November."""
    desk.clock.moment = datetime(2026, 11, day, hour, minute, tzinfo=UTC)


def unit(number: int, **more: object) -> Unit:
    """A unit of lot SM-07 as it came in."""
    serial = f"PT2-{415 + number:04d}"
    made = Unit(f"unit-{number}", f"SM-07-{number:02d}", MODEL, "lot-7", serial, 0x1209, 1, MODEL)
    return replace(made, **more)  # type: ignore[arg-type]


def workshop(desk: Workbench) -> None:
    """Lot SM-07 of the Saltmarsh Reuse Workshop, its units, some parts, some due."""
    store = desk.store
    _on(desk, 18, 8, 0)
    store.add_lot(Lot("lot-6", "SM-06", "2026-10-30", "school clearance", 4000))
    store.add_lot(Lot("lot-7", "SM-07", "2026-11-18", "youth games room, closed", 9600, "EUR", "twelve pads"))
    told: dict[int, dict[str, object]] = {
        1: {"becomes": "ready"},
        2: {"claim": "right trigger sticks", "rest_until": "2026-11-27"},
        3: {"claim": "dead", "claim_state": "confirmed", "becomes": "donor"},
        4: {"claim": "left stick goes by itself", "condition": "light marks, left grip worn"},
        5: {"claim": "buttons bad", "rest_until": "2026-11-27"},
        6: {"becomes": "sold"},
        8: {"rest_until": "2026-11-24"},
    }
    for number in range(1, 13):
        store.add_unit(unit(number, **told.get(number, {})))
    store.add_shelf_part(ShelfPart("p1", "Stick sensor", MODEL, 6, None, 210))
    store.add_shelf_part(ShelfPart("p2", "Shoulder contact", MODEL, 2, "unit-3", 0, note="from SM-07-03"))
    store.add_shelf_part(ShelfPart("p3", "Stick cap, pair", MODEL, 4, None, 90))
    _on(desk, 25, 9, 0)


def lot_picture(desk: Workbench) -> None:
    """Lot SM-07 in work: a donor for two, a part on the shelf, one that is nowhere, a sale without a price."""
    store = desk.store
    _on(desk, 18, 8, 0)
    store.add_lot(Lot("lot-6", "SM-06", "2026-10-30", "school clearance", 4000))
    store.add_lot(Lot("lot-7", "SM-07", "2026-11-18", "youth games room, closed", 9600, "EUR", "twelve pads"))
    becomes = {1: "ready", 2: "ready", 3: "donor", 6: "sold"}
    for number in range(1, 13):
        store.add_unit(unit(number, becomes=becomes.get(number, "open")))
    _on(desk, 24, 10, 0)
    for number, worn in ((4, "left_stick"), (9, "left_stick"), (11, "right_stick"), (12, "right_stick")):
        cleaned_in_vain(desk, unit(number), worn)
    desk.past_visit(unit(7), "intake", {("rest", "left_stick"): found(), ("contact", "south"): found()})
    sound = {(c, s): found() for c, s in (("sweep", "left_stick"), ("sweep", "right_stick"))}
    crossed = {("contact", c): found("crosstalk") for c in ("south", "east")}
    desk.past_visit(unit(8), "intake", {**sound, **crossed})
    desk.past_visit(unit(5), "intake", {("light", "left_shoulder"): found("misses")})
    store.add_treatment(Treatment("", "unit-5", "open and clean", "", "Left shoulder contact", 11, cost_minor=40))
    desk.past_visit(unit(5), "after treatment", {("light", "left_shoulder"): found()})
    store.add_shelf_part(ShelfPart("p1", SENSOR, MODEL, 1, "unit-3", 0, note="from SM-07-03"))
    _on(desk, 25, 9, 0)


def cleaned_in_vain(desk: Workbench, of: Unit, worn: str) -> None:
    noisy = {("sweep", worn): found("spikes", "reversal")}
    desk.past_visit(of, "intake", noisy)
    part = SENSOR if worn == "left_stick" else OTHER_SENSOR
    desk.store.add_treatment(Treatment("", of.id, "clean the sensor", "", part, 9, cost_minor=40))
    desk.past_visit(of, "after treatment", noisy)


def found(*codes: str) -> Assessment:
    """A fail with these findings; a pass without any."""
    return Assessment(
        Outcome.FAIL if codes else Outcome.PASS, (), tuple(Finding(c, c.replace("_", " "), "x") for c in codes)
    )


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


def left_shoulder(desk: Workbench) -> None:
    """SM-07-04 at its third visit, the light press of the left shoulder running: the scene of the first screenshot."""
    third_visit(desk)
    pressing(desk)


def pressing(desk: Workbench) -> None:
    """The light press of the left shoulder, one beat missed so far."""
    for name in ("east", "west", "north", "right_stick_press", "back_left"):
        desk.feed(**{name: button(desk.now_ns, False)})
    desk.feed(direction_pad=hat(desk.now_ns, -1))
    lie_about(desk, 16.0)
    desk.run("light", "left_shoulder")
    press_on_beats(desk, "left_shoulder", "right_shoulder", count=15, missed=4)


def third_visit(desk: Workbench) -> Unit:
    """SM-07-04 after two visits and two treatments; the third one is under way, much of its checklist done."""
    workshop(desk)
    here, store = unit(4), desk.store
    _on(desk, 24, 10, 12)
    desk.past_visit(here, "intake", _visit_before((14.8, 19.2, 71), 1.2, 64.0))
    store.add_note(Note("", here.id, "", "Left grip worn, three photos taken"))
    _on(desk, 24, 10, 20)
    outside = store.add_treatment(Treatment("", here.id, "clean from outside", "", minutes=4, cost_minor=10))
    _on(desk, 24, 10, 26)
    desk.past_visit(here, "after treatment", _visit_before((11.0, 13.1, 80), 1.1, 33.0), outside.id)
    _on(desk, 25, 10, 30)
    opened = store.add_treatment(Treatment("", here.id, "open and clean", "", minutes=11, cost_minor=40))
    _on(desk, 25, 10, 41)
    now = store.start_visit(here.id, "final", treatment_id=opened.id)
    for key, assessment in _done_now().items():
        desk.result(now, *key, assessment)
    desk.plug_in()
    desk.idle()
    desk.desk.visit.start(here.id, desk.pad.info, "final")
    desk.idle()
    return here


SHOPS_LIMITS = """
[rest]
offset = [4, 8]
[[grade]]
name = "as new"
second_test = true
[grade.limits.rest]
offset = [2, 4]
[[grade]]
name = "shop-tested"
[[grade]]
name = "for parts"
faults = true
"""


def graded(desk: Workbench) -> Unit:
    """SM-07-10, tested whole by the limits of the shop; its last visit is open, let go is done in it."""
    workshop(desk)
    (paths.records_folder() / "limits.toml").write_text(SHOPS_LIMITS, "utf-8")
    here, store = unit(10), desk.store
    _on(desk, 24, 10, 12)
    off = Assessment(Outcome.PASS, (_pct("offset", 2.6, 4, 8), Reading("offset_x", 2.6, "%", 0.3)))
    desk.past_visit(here, "intake", {key: found() for key in wanted_of(plover())} | {("rest", "left_stick"): off})
    _on(desk, 25, 10, 41)
    now = store.start_visit(here.id, "final")
    let_go = (
        _pct("return_offset", 5.8, 6, 12, 0.4),
        _pct("repeatability", 2.1, 5, 10, 0.4),
        _pct("settle_time", 84, 150, 400, 2, "ms"),
        Reading("still_within", 6.2, "%", 0.4, reason=LETGO_STILL_IN_WORDS[1][1]),
        Reading("hidden_zone", 2.4, "%", 0.2, reason=LETGO_HIDES),
    )
    desk.result(now, "rest", "left_stick", off)
    desk.result(now, "letgo", "left_stick", Assessment(Outcome.BORDERLINE, let_go))
    desk.plug_in()
    desk.idle()
    desk.desk.visit.is_unit(desk.pad.info, here)  # its number is that of another unit of the workshop
    desk.desk.visit.start(here.id, desk.pad.info, "final")
    desk.idle()
    return here


def _visit_before(left: tuple[float, float, float], right_rest: float, faulty: float) -> Results:
    rest = Assessment(Outcome.PASS, (_pct("offset", right_rest, 5, 10),))
    press = Assessment(
        Outcome.FAIL,
        (_pct("faulty_rate", faulty, 1, 10, 0),),
        (Finding("misses", "Left shoulder misses light presses"),),
    )
    return {**_stick_result(*left), ("rest", "right_stick"): rest, ("light", "left_shoulder"): press}


def _done_now() -> Results:
    """What of the third visit is done."""
    buttons = [name for name, *_ in BUTTONS if name not in ("back_right", "left_shoulder")]
    done = {(check, name): found() for name in buttons for check in ("contact", "light", "hold")}
    done |= {("contact", "left_shoulder"): found(), ("hat", "direction_pad"): found(), ("rumble", ""): found()}
    done |= {(check, "right_stick"): found() for check in ("letgo", "travel")}
    done |= {("trigger", name): found() for name in ("left_trigger", "right_trigger")}
    done |= {("rest", "right_stick"): Assessment(Outcome.PASS, (_pct("offset", 1.1, 5, 10),))}
    charge = (Reading("vbus_low", 4.98, "V", 0.0, 4.4, 4.2, ">="),)
    return {**done, ("charge", ""): Assessment(Outcome.BORDERLINE, charge), **_stick_result(10.2, 12.6, 84)}


# --- a hand on the pad -----------------------------------------------------------------------------------------


def press_on_beats(desk: Workbench, control: str, witness: str, *, count: int, missed: int = -1) -> None:
    """A light press on each beat that counts, but for that one; the witness is pressed on all."""
    rng = np.random.default_rng(4)
    done: set[int] = set()
    for _ in range(4000):
        beats = [b for b in desk.session().beats if b.state != "count-in"]
        for number, beat in enumerate(beats):
            if beat.t_ns not in done and beat.state == "waiting":
                done.add(beat.t_ns)
                at = beat.t_ns + round(rng.uniform(0, 60) * 1e6)
                press = ButtonSignal(np.array([at, at + round(rng.uniform(180, 330) * 1e6)]), np.array([True, False]))
                desk.feed(**({} if number == missed else {control: press}), **{witness: press})
        if len(beats) >= count and all(b.state != "waiting" for b in beats[:count]):
            return
        desk.advance(20)
    raise AssertionError(f"only {len(done)} beats came")


def lie_about(desk: Workbench, seconds: float) -> None:
    """For so long the left stick lies off centre, the right one is rolled, and a trigger is half pulled.

    South is pressed once in the eighth second, and opens for a millisecond in the middle of it.
    """
    now, k = desk.now_ns, np.arange(round(seconds * 200))
    t = now + (k + 1) * 5_000_000
    presses = now + np.array([7_000, 7_200, 7_201, 7_400]) * 1_000_000
    desk.feed(
        south=ButtonSignal(presses, np.array([True, False, True, False])),
        left_stick=stick(t, 10.2 + 0.3 * np.sin(k), -1.5 + 0.2 * np.cos(k)),
        right_stick=stick(t, 99 * np.sin(0.06 * k), 99 * np.cos(0.06 * k)),
        left_trigger=trigger(now + 1_000_000, 0.6),
        right_trigger=trigger(now + 1_000_000, 62.0),
    )


def rolling(desk: Workbench) -> None:
    """The right stick is being rolled round its rim; the lower left of it was not yet reached."""
    desk.run("rim", "right_stick")
    roll_on(desk)


def roll_on(desk: Workbench) -> None:
    """The right stick is rolled over most of its rim."""
    move(desk, "right_stick", 3.0, lambda s: _rim(-150.0 + 300.0 * s, lambda bearing: 99.0))


def rolled(desk: Workbench, control: str) -> None:
    """The rim check of a stick that falls short towards the lower left, as far as one way round."""
    desk.run("rim", control)
    roll_round(desk, control)


def roll_round(desk: Workbench, control: str) -> None:
    """Once round the rim and a little more, clockwise."""
    move(desk, control, 4.0, lambda s: _rim(380.0 * s, _short_at_lower_left))


def _short_at_lower_left(bearing: np.ndarray) -> np.ndarray:
    return 99.0 - 15.0 * np.exp(-((((bearing % 360) - 237) / 22) ** 2))


def _rim(bearing: np.ndarray, reach: Callable[[np.ndarray], np.ndarray | float]) -> tuple[np.ndarray, np.ndarray]:
    out = reach(bearing)
    return out * np.sin(np.radians(bearing)), out * np.cos(np.radians(bearing))


def holding(desk: Workbench) -> None:
    """Some pairs of buttons were seen held together."""
    desk.run("together", "")
    for control in ("left_shoulder", "right_shoulder", "back_left", "back_right"):
        desk.feed(**{control: ButtonSignal(np.array([desk.now_ns]), np.array([True]))})
        desk.advance(200)
    for control in ("south", "east", "west"):
        at = desk.now_ns
        desk.feed(**{control: ButtonSignal(np.array([at, at + 250_000_000]), np.array([True, False]))})
        desk.advance(500)


def sweeping(desk: Workbench) -> None:
    """The left stick is being moved slowly across, and its track is noisy."""
    desk.run("sweep", "left_stick")
    rng = np.random.default_rng(3)

    def across(s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        x = 98 * np.sin(3.5 * math.pi * s)
        spikes = rng.integers(0, len(x), len(x) // 1000 + (len(x) > 20))
        x[spikes] += rng.uniform(12, 30, len(spikes))
        return x, 2 * np.sin(9000 * s / 900)

    move(desk, "left_stick", 9.0, across)


def move(
    desk: Workbench, control: str, seconds: float, where: Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]
) -> None:
    """A stick moved for so long, 1,000 reports a second; `where`: share of the time (0…1) → x, y in %."""
    count, begin = round(seconds * 1000), desk.now_ns
    x, y = where(np.arange(count) / count)
    for first in range(0, count, 50):
        piece = slice(first, first + 50)
        t = begin + (np.arange(count)[piece] + 1) * 1_000_000
        desk.feed(**{control: stick(t, x[piece], y[piece])})
        desk.advance(50)


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
    return [name for name, *_ in BUTTONS]


def show_rims(desk: Workbench, window: MainWindow) -> None:
    """What rim checks that were begun left on the dials."""
    rolled(desk, "left_stick")
    desk.settle(window)
    rolling(desk)
    desk.settle(window)


# --- a device that is taught -----------------------------------------------------------------------------------

COUNTS = {"face": 6, "centre": 4, "paddles": 4}
SCRIPT = walk(usual_controls(**COUNTS))


def walking(step: LearnStep, **changes: object) -> TeachView:
    """How a lesson in the middle of a step is told."""
    number = SCRIPT.index(step) + 1
    following = SCRIPT[number] if number < len(SCRIPT) else None
    view = TeachView("Two-stick test pad", "walking", step, following, number, len(SCRIPT), step.seconds, 100.0)
    return replace(view, **changes)  # type: ignore[arg-type]


LOOKED_AT = Unit("unit-9", "SM-07-09", SHEET.name, None, "PT2-0424", 0x1209, 1, SHEET.name, "left stick noisy")


def looked_at(desk: Workbench) -> None:
    """A unit with a visit: a stick with spikes on its way, a shoulder that misses presses, one marked by hand."""
    SheetShelf(paths.sheets_folder()).save(SHEET)
    store = desk.store
    unit = store.add_unit(LOOKED_AT)
    visit = store.start_visit(unit.id, "intake")
    moves = stick_moves(axis_moves.sweeps(), X, Y)
    at = [k for k in range(1000, 11_500, 40) if abs(moves[X][k] - 30.0) < 1.5 and moves[X][k + 50] > moves[X][k]][:3]
    for k in at:
        moves[X][k : k + 6] += 25.0
    starts = [b + 40 for k, b in enumerate(BEATS_MS) if k not in (10, 12, 13, 15)]
    for check, control, signals, more in (
        ("sweep", "left_stick", moves, {}),
        ("light", "key_15", {button_usage(15): presses(starts, BEATS_MS[-1] + 900, 120)}, {"beats_ms": BEATS_MS}),
        ("rest", "left_stick", stick_moves(axis_moves.rest(0.5, 0.2), X, Y), {}),
    ):
        capture = Script().add(check, control, signals, **more).capture()
        (done,) = assess_capture(capture, SHEET).checks
        sha256 = store.keep_capture(write_capture(capture))
        store.add_result(Result("", visit.id, check, control, 0, "", done.assessment, sha256))
    by_hand = Result("", visit.id, "hold", "key_15", 0, "", Assessment(Outcome.FAIL), by_hand=True, reason="loose")
    store.add_result(by_hand)
    store.finish_visit(visit.id)


def looked_at_again(desk: Workbench) -> None:
    """Another visit of that unit, at which the stick rests farther off."""
    store = desk.store
    visit = store.start_visit(LOOKED_AT.id, "after treatment")
    capture = Script().add("rest", "left_stick", stick_moves(axis_moves.rest(3.0, 0.1), X, Y)).capture()
    (done,) = assess_capture(capture, SHEET).checks
    sha256 = store.keep_capture(write_capture(capture))
    store.add_result(Result("", visit.id, "rest", "left_stick", 0, "", done.assessment, sha256))
    store.finish_visit(visit.id)


GOOD_ONE = Unit("unit-10", "SM-07-10", SHEET.name, None, "PT2-0425", 0x1209, 1, SHEET.name)


def good_one_of_the_model(desk: Workbench) -> None:
    """Another unit of that model that passed what it was tested for."""
    store = desk.store
    visit = store.start_visit(store.add_unit(GOOD_ONE).id, "intake")
    capture = Script().add("rest", "left_stick", stick_moves(axis_moves.rest(0.3, 0.1), X, Y)).capture()
    (done,) = assess_capture(capture, SHEET).checks
    sha256 = store.keep_capture(write_capture(capture))
    store.add_result(Result("", visit.id, "rest", "left_stick", 0, "", done.assessment, sha256))
    store.finish_visit(visit.id)
