"""How long does a visit take, and how many keys? What does a first look flag?

A hand at human speed works through visits of a sound simulated pad with two sticks, two triggers, a hat and fourteen
buttons: it moves as `station/sources/simulated/` does, begins 0.25 s after it is asked, and needs for a key what the
keystroke-level model of `keystrokes.py` says. While the hand is at the keyboard nothing is pressed on the beats, so
a beat that is taken back costs those as well.
Times are of the pad's own clock, so a loaded machine changes nothing.

A visit begins with the Enter that asks for it, at the strip or at the end of the work, which is counted with its K; the
hand is on the keyboard then. The look over the unit has its key as every question has: here it is answered with the
unit in hand, as at the bench it is before the plug.
Not counted: looking the unit over, plugging it in, feeling the motors, and a meter, which takes a cable and, where its
figures are written down, their digits.

One hand is timed for the bars, and full checks of a dozen more that are always the same: the last line has their median
and the worst. What made one of them longer is printed beside it: beats that the person took back, each of which costs
the way to the key and back, and presses beyond those that a faultless button needs, since one miss that nobody took
back has to be made good by 25 more.

The stick of the re-check was cleaned from outside; what is due besides once the housing was opened has no bar.

The full check is timed as rounds that begin by themselves, and one check after the other, each begun by a key; and
with its rounds zone by zone, as they are listed, instead of grip by grip. Counted are the changes of grip between them.
A clear fault lies beyond its fail limit by a quarter of it or more; a first look flags what it does not pass.

    .venv/bin/python tests/bench/pace.py [--units N] [--seed-of-hand N]
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

from keystrokes import H_S, K_S, REACTION_S, begins_s, pressed_s
from pace_looks import looks

from sample_units.make import sheet_of
from station.bench.auto import AutoPerson
from station.bench.grips import changes, grip_of_step
from station.bench.memory import MemoryRecorder
from station.bench.plan import plan
from station.bench.recheck import plan_after
from station.bench.session import Session
from station.bench.setup import BenchSetup, UnitOnBench, VisitPlan
from station.bench.types import Answer, BeginSoon, Command, Go, SessionView, Skip, Step, StepStarted, TakeBack
from station.checks.light import counts_of, plan_of
from station.checks.types import Grip
from station.judgement.limits import in_force
from station.judgement.treated import Place, makes_due, went_for
from station.judgement.tries import Key
from station.records.types import FIRST_LOOK, Treatment, Unit
from station.sheets.bind import bind
from station.sheets.model import Ask, Sheet
from station.sources.simulated import PadDesign, SimulatedHand, SimulatedSource, UnitSpec

SWEEP_S = (1.5, 1.7)
"""one way of a slow sweep: the window asks for one and a half to two seconds"""
ASKS = (Ask("look", "Nothing of it"), Ask("rumble", "Both motors run"), Ask("charge", "Charges"))
TICK_S = 0.01
LONGEST_S = 1800.0
BARS = {
    "first_look_s": 75.0,
    "first_look_keys": 4,
    "full_s": 240.0,
    "full_keys": 10,
    "recheck_s": 45.0,
    "recheck_keys": 3,
}
FLAGGED_PCT, FALSE_PCT = 95.0, 2.0
HANDS = tuple(range(1, 14))
"""whose full checks are timed for the median and the worst"""


@dataclass(frozen=True, slots=True)
class Paced:
    """A visit: its time in s, the keys pressed, and what did not pass.

    `spent`: what was done → how many rounds of it, and s in all; "" is the time between rounds. `grips`: where the hand
    was, round by round. `slips`: beats that the person took back, `more`: presses on beats beyond those that buttons
    without a fault need, `again`: tries that did not count.
    """

    seconds: float
    keys: int
    not_passed: tuple[str, ...]
    spent: Mapping[str, tuple[int, float]]
    grips: tuple[Grip, ...]
    slips: int
    more: int
    again: int

    def why(self) -> str:
        """What made it longer than it need be."""
        what = {"taken back": self.slips, "presses more": self.more, "tries again": self.again}
        return ", ".join(f"{number} {name}" for name, number in what.items() if number) or "nothing went wrong"


class Spent:
    """Where the time of a visit goes."""

    def __init__(self) -> None:
        self.rounds: Counter[str] = Counter()
        self.seconds: Counter[str] = Counter()
        self._now: tuple[int, ...] = ()

    def tick(self, view: SessionView, seconds: float) -> None:
        """So much time more, at what runs now."""
        at = view.together or ((view.current,) if view.running and view.current >= 0 else ())
        name = " + ".join(dict.fromkeys(view.steps[i].step.check for i in at))
        self.seconds[name] += seconds
        if at and not set(at) & set(self._now):
            self.rounds[name] += 1
        self._now = at

    def told(self) -> dict[str, tuple[int, float]]:
        """What was done → (rounds, s)."""
        return {name: (self.rounds[name], seconds) for name, seconds in self.seconds.items()}


class Human:
    """Presses the keys of a visit after the time that a person needs for each, and counts them; the hand that presses
    them works the pad too, and is on one of the two. It begins on the keyboard, with the Enter that asks for the visit.

    To the code that works a visit it is the hand: what is asked of that comes later while the hand is on its way back.
    """

    def __init__(self, session: Session, source: SimulatedSource, hand: SimulatedHand) -> None:
        self.keys = 1
        self._session, self._source, self._hand = session, source, hand
        self._due: list[tuple[int, Command]] = []
        self._at_keys = True
        self._leaves_ns = source.now_ns()
        """when it left the pad …"""
        self._back_ns = source.now_ns() + round(H_S * 1e9)
        """… and when it is there again, if it goes back at once"""

    def do(self, command: Command) -> None:
        """Press the key for it once the person has seen what comes, and thought where there is something to choose."""
        if isinstance(command, TakeBack) and any(command == other for _, other in self._due):
            return  # the key that is on its way takes that back as well
        thinks = isinstance(command, Answer | Skip | TakeBack)
        self._leaves_ns = self._source.now_ns() + round(begins_s(thinks=thinks) * 1e9)
        at_ns = self._leaves_ns + round(pressed_s(from_pad=not self._at_keys) * 1e9)
        self._back_ns = at_ns + round(H_S * 1e9)
        self._at_keys = not isinstance(command, TakeBack)  # from there it goes back at once
        self._due.append((at_ns, command))

    def press(self) -> None:
        """Press what is due by now."""
        now_ns = self._source.now_ns()
        for at_ns, command in [one for one in self._due if one[0] <= now_ns]:
            self._due.remove((at_ns, command))
            self._session.do(command)
            self.keys += 1

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
        """Move the controls, once the hand is there."""
        self._at_keys = False
        self._hand.ask(check, control, twin, kind, beats_per_minute, max(at_ns, self._back_ns), also)

    def beat(self, t_ns: int) -> None:
        """A beat; one that comes while the hand is away is not pressed on."""
        if not self._leaves_ns <= t_ns < self._back_ns:
            self._hand.beat(t_ns)

    def takes_back(self, now_ns: int) -> bool:
        return self._hand.takes_back(now_ns)

    def rest(self, at_ns: int) -> None:
        self._hand.rest(at_ns)


def visit(kind: str, steps: Sequence[Step] | None, seed: int, *, one_by_one: bool = False) -> Paced:
    """A visit of a sound pad, with rounds that begin by themselves, or one check after the other."""
    design, sheet = pad(), pad_sheet()
    hand = SimulatedHand(0.9, seed)
    hand.style = replace(hand.style, reaction_s=REACTION_S, sweep_s=SWEEP_S)
    source = SimulatedSource(UnitSpec(design, seed, (), "P-1"), hand, realtime=False)
    recorder = MemoryRecorder()
    setup = BenchSetup(recorder, auto_go=not one_by_one, together=not one_by_one)
    on_bench = UnitOnBench(Unit("u", "P-1", design.name), source, bind(sheet, design.layout))
    chosen = steps if steps is not None else plan(sheet, kind)
    session = Session(on_bench, VisitPlan(kind, chosen), setup)
    session.do(Go() if kind == "after treatment" else BeginSoon())  # the end of the work begins the check
    human = Human(session, source, hand)
    person = AutoPerson(sheet, human, human.do, source.now_ns)
    begin_ns = source.now_ns()
    goes, asked_again, spent = 0, False, Spent()
    grips: list[Grip] = []
    spent.seconds[""] = K_S  # of the Enter that began it
    while (source.now_ns() - begin_ns) / 1e9 < LONGEST_S:
        source.advance(TICK_S)
        human.press()
        session.tick()
        for event in session.take_events():
            person.handle(event, session.view())
            goes, asked_again = hand.goes_done, False
            if isinstance(event, StepStarted):
                grips.append(grip_of_step(event.step, sheet))
        view = session.view()
        if view.finished:
            break
        if not asked_again and hand.goes_done > goes and view.running and _is_free_run(view):
            _go_on_with_what_is_left(human, view, source)
            goes = hand.goes_done
        person.act(view)
        spent.tick(view, TICK_S)
    else:
        raise RuntimeError(f"the visit is not finished: {session.view().message or session.view().prompt}")
    end = session.view()
    bad = tuple(f"{s.step.control}.{s.step.check}" for s in end.steps if s.outcome is None or s.outcome.value != "pass")
    return Paced(
        K_S + (source.now_ns() - begin_ns) / 1e9, human.keys, bad, spent.told(), tuple(grips), *_went_wrong(recorder)
    )


def _went_wrong(recorder: MemoryRecorder) -> tuple[int, int, int]:
    """Beats taken back, presses beyond those of faultless buttons, tries again: over all results of a visit."""
    plan_of_presses = plan_of(in_force(pad_sheet()))
    counted = [counts_of(result.assessment.readings) for result in recorder.results if result.check == "light"]
    more = sum(max(one.beats - plan_of_presses.presses_to_accept(0), 0) for one in counted)
    again = sum(bool(result.assessment.again) for result in recorder.results)
    return sum(one.slips for one in counted), more, again


def table(one: Paced) -> str:
    """Where its time went, the most first."""
    rows = sorted(one.spent.items(), key=lambda row: -row[1][1])
    return "\n".join(f"  {name or '(between)':28} {rounds:3} {seconds:7.1f} s" for name, (rounds, seconds) in rows)


def _is_free_run(view: SessionView) -> bool:
    return view.current >= 0 and view.steps[view.current].step.check == "glance"


def _go_on_with_what_is_left(hand: Human, view: SessionView, source: SimulatedSource) -> None:
    """The card says what is still missing: only that is moved again."""
    left = [view.steps[i].step.control for i in view.together] or [view.steps[view.current].step.control]
    hand.ask("glance", left[0], None, "", 0, source.now_ns(), also=tuple(left[1:]))


def pad() -> PadDesign:
    """Two sticks, two triggers, a hat and fourteen buttons at 250 Hz."""
    return PadDesign("8bit", 250, buttons=14)


def pad_sheet() -> Sheet:
    """Its model sheet, with its questions."""
    return replace(sheet_of(pad()), asks=ASKS)


def zone_by_zone() -> tuple[Step, ...]:
    """The full plan with its turns as it is listed."""
    return tuple(replace(step, turn=0) for step in plan(pad_sheet()))


def after_cleaning(control: str, kind: str = "clean from outside") -> tuple[Step, ...]:
    """What is due again after the sensor of one stick was treated, in the order of that visit."""
    sheet = sheet_of(pad())
    treatment = Treatment("t", "u", kind, "2026-11-28T10:00:00Z", f"{sheet.control(control).name} sensor")
    keys = [(step.check, step.control) for step in plan(sheet)]
    due: dict[Key, Place] = {key: _place(treatment, key, sheet) for key in keys if makes_due(treatment, key, sheet)}
    return plan_after(due, sheet)


def _place(treatment: Treatment, key: Key, sheet: Sheet) -> Place:
    return "treated" if went_for(treatment, key, sheet) else "besides"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=300, help="random units for the first look")
    parser.add_argument("--seed-of-hand", type=int, default=7)
    args = parser.parse_args()
    jobs: dict[str, Callable[[], Paced]] = {
        "first_look": lambda: visit(FIRST_LOOK, None, args.seed_of_hand),
        "full": lambda: visit("intake", None, args.seed_of_hand),
        "recheck": lambda: visit("after treatment", after_cleaning("left_stick"), args.seed_of_hand),
    }
    out: dict[str, float] = {}
    for name, job in jobs.items():
        done = job()
        out[f"{name}_s"], out[f"{name}_keys"] = round(done.seconds, 1), done.keys
        print(f"{name}: {done.seconds:.1f} s, {done.keys} keys, not passed: {', '.join(done.not_passed) or 'none'}")
        print(table(done))
        if name == "full":
            out["grip_changes"] = changes(done.grips)
    before = visit("intake", None, args.seed_of_hand, one_by_one=True)
    ratio = out["full_s"] / before.seconds
    print(f"full, one by one: {before.seconds:.1f} s, {before.keys} keys; with rounds {ratio:.2f} of the time")
    as_listed = visit("intake", zone_by_zone(), args.seed_of_hand)
    print(
        f"full, zone by zone: {as_listed.seconds:.1f} s, {changes(as_listed.grips)} changes of grip;"
        f" grip by grip {out['grip_changes']:.0f}"
    )
    hands = {seed: visit("intake", None, seed) for seed in HANDS}
    over = [one for one in hands.values() if one.seconds > BARS["full_s"] or one.keys > BARS["full_keys"]]
    for seed, one in hands.items():
        beyond = "; beyond a bar" if one in over else ""
        print(f"full, hand {seed}: {one.seconds:.1f} s, {one.keys} keys: {one.why()}{beyond}")
    out["full_median_s"] = round(median(one.seconds for one in hands.values()), 1)
    out["full_worst_s"] = round(max(one.seconds for one in hands.values()), 1)
    out["full_worst_keys"] = max(one.keys for one in hands.values())
    print(f"full, all hands: median {out['full_median_s']} s, worst {out['full_worst_s']} s, {len(over)} beyond a bar")
    opened = visit("after treatment", after_cleaning("left_stick", "open and clean"), args.seed_of_hand)
    print(f"recheck after the housing was opened: {opened.seconds:.1f} s, {opened.keys} keys (no bar)")
    print(table(opened))
    found = looks(args.units)
    for kind, number in sorted(found.clear.items()):
        print(f"  {kind}: {found.flagged[kind]} of {number} flagged, {found.failed[kind]} failed")
    print(f"sound controls: {found.false.total()} of {found.sound} flagged: {dict(found.false)}")
    out["flagged_pct"], out["false_flagged_pct"] = round(found.flagged_pct, 1), round(found.false_pct, 2)
    missed = [f"{name} {out[name]} > {bar}" for name, bar in BARS.items() if out[name] > bar]
    missed += [f"flagged_pct {out['flagged_pct']} < {FLAGGED_PCT}"] * (out["flagged_pct"] < FLAGGED_PCT)
    missed += [f"false_flagged_pct {out['false_flagged_pct']} > {FALSE_PCT}"] * (out["false_flagged_pct"] > FALSE_PCT)
    print("bars missed:", "; ".join(missed) or "none")
    print(json.dumps(out))
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
