"""Whole tries of a light press drawn at random: a hand on its beats, a contact that fails a given share, a link."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from station.bench.metronome import LEAST, STEP
from station.checks.light import LightCheck
from station.checks.takes import take_between
from station.checks.types import Assessment, Limits, Outcome, Take
from station.sheets.signals import ButtonSignal
from tests.checks.button_moves import LEFT, LIMITS, LONE, MS, RIGHT, SHEET

Rng = np.random.Generator
INTERVAL_MS = 500.0
FASTEST_MS = 1000.0 / 3.0
COUNT_IN = 4
MOST_BEATS = 75
"""60 that count, and those that both fingers let pass"""
FIRST_MS = 3000.0


@dataclass(frozen=True, slots=True)
class Scene:
    """How a button is tested. `faults` are drawn evenly; `late_start`: beats that the hand lets pass, no count-in.

    `slip`: share of beats that the hand lets pass (only with a twin: without one a slip is a miss by definition).
    `run`: faults come in runs of so many presses on average. `twin_misses`: share of presses that the twin misses by
    itself; `together`: the twin misses the same presses as the button. `repeats`: how many tries the person makes at
    most, one after the other, until one passes. `ends_early`: after so many beats the person ends a try that has not
    ended by itself, time after time (0: never); the next one carries it on.
    """

    name: str
    period_ms: float = 1.0
    on_change: bool = False
    twin: bool = True
    faults: tuple[str, ...] = ("missed", "split", "short")
    slip: float = 0.0
    late_start: int = 0
    run: float = 0.0
    twin_misses: float = 0.0
    together: bool = False
    repeats: int = 1
    ends_early: int = 0
    fastest: bool = False
    """the beats come faster while the hand keeps step, up to three a second, as the bench gives them"""


SCENES = (
    Scene("with its twin, 1 kHz, hand slips on 2 % of beats", slip=0.02),
    Scene("without a twin, on change at 1 kHz", on_change=True, twin=False),
    Scene("with its twin, 250 Hz", period_ms=4.0),
    Scene("without a twin, 125 Hz, misses and splits", period_ms=8.0, twin=False, faults=("missed", "split")),
    Scene("without a twin, begun two beats late", twin=False, late_start=2),
    Scene("with its twin, three beats a second, hand slips on 2 %", slip=0.02, fastest=True),
    Scene("without a twin, three beats a second, 125 Hz", period_ms=8.0, twin=False, faults=("missed",), fastest=True),
)
TWINS = (
    Scene("its twin misses 20 % by itself", faults=("missed",), twin_misses=0.2),
    Scene("its twin misses 40 % by itself", faults=("missed",), twin_misses=0.4),
    Scene("its twin misses 60 % by itself", faults=("missed",), twin_misses=0.6),
    Scene("its twin misses the same presses", faults=("missed",), together=True),
)
REPEATS = (
    Scene("up to three tries until it passes", twin=False, faults=("missed",), repeats=3),
    Scene("up to three tries, its twin misses 40 % by itself", faults=("missed",), twin_misses=0.4, repeats=3),
    Scene("ended after each 12 beats and carried on", twin=False, faults=("missed",), ends_early=12),
)
RUNS = (
    Scene("misses in runs of two", twin=False, faults=("missed",), run=2.0),
    Scene("misses in runs of four", twin=False, faults=("missed",), run=4.0),
)
STAYS = (
    Scene("stays closed for 0.2 to 1.5 s, with its twin", faults=("stays",)),
    Scene("stays closed for 0.2 to 1.5 s, without a twin", faults=("stays",), twin=False),
    Scene("stays closed for 0.2 to 1.5 s, three beats a second", faults=("stays",), fastest=True),
)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A try as it could be recorded. `faulty[k]`: whether the contact failed at beat k, `unseen[k]`: neither closed."""

    scene: Scene
    own: ButtonSignal
    witness: ButtonSignal | None
    report_t_ns: np.ndarray
    beats_ns: tuple[int, ...]
    faulty: np.ndarray
    unseen: np.ndarray

    def take(self, beats: int) -> Take:
        """Everything up to shortly before the beat that follows the first `beats`."""
        control = LEFT if self.scene.twin else LONE
        signals = {control.id: self.own}
        if self.witness is not None:
            signals[RIGHT.id] = self.witness
        interval_ms = FASTEST_MS if self.scene.fastest else INTERVAL_MS
        return take_between(
            SHEET, signals, 0, self.beats_ns[beats - 1] + int(0.9 * interval_ms * MS), self.report_t_ns,
            control=control, beats_ns=self.beats_ns[:beats], witness=RIGHT.id if self.scene.twin else None,
        )  # fmt: skip


def faults_in_runs(rng: Rng, count: int, share: float, run: float) -> np.ndarray:
    """bool[count]: sound stretches and runs of faults of geometric lengths, begun somewhere in the middle."""
    flags: list[bool] = []
    bad = bool(rng.random() < share)
    while len(flags) < count:
        lasts = run if bad else run * (1.0 - share) / share
        flags += [bad] * int(rng.geometric(1.0 / lasts))
        bad = not bad
    return np.array(flags[:count])


def draw(rng: Rng, scene: Scene, share: float, most: int = MOST_BEATS) -> Drawn:
    """A try at a button that fails at this share of presses, each independently of the others unless in runs."""
    count = COUNT_IN + most
    steps_ms = np.full(count, INTERVAL_MS)
    if scene.fastest:  # after the first presses faster by a step with each beat, as a steady hand gets them
        steps_ms = np.maximum(INTERVAL_MS / STEP ** np.maximum(np.arange(count) - COUNT_IN - LEAST, 0), FASTEST_MS)
    beats_ms = FIRST_MS - COUNT_IN * INTERVAL_MS + np.append(0.0, np.cumsum(steps_ms)[:-1])
    start = beats_ms + 40.0 + rng.normal(0.0, 18.0, count)
    length = rng.uniform(90.0, 180.0, count)
    faulty = faults_in_runs(rng, count, share, scene.run) if scene.run and share else rng.random(count) < share
    pressed = np.ones(count, dtype=bool)
    if scene.late_start:
        pressed[: COUNT_IN + scene.late_start] = False
    pressed[COUNT_IN:] &= rng.random(most) >= scene.slip
    own: list[tuple[float, float]] = []
    for k in np.flatnonzero(pressed).tolist():
        kind = str(rng.choice(scene.faults)) if faulty[k] else "sound"
        own += _closures(rng, kind, float(start[k]), float(length[k]))
    beside = pressed & (rng.random(count) >= scene.twin_misses)
    if scene.together:
        beside &= ~faulty
    other = start[beside] + rng.normal(0.0, 8.0, int(beside.sum()))
    end_ms = float(beats_ms[-1]) + 1000.0
    polls = rng.uniform(0.0, scene.period_ms) + np.arange(0.0, end_ms, scene.period_ms)
    closed = _polled(polls, own)
    twin = _polled(polls, list(zip(other, other + length[beside], strict=True))) if scene.twin else None
    kept = np.ones(len(polls), dtype=bool)
    if scene.on_change:
        kept = np.append(True, closed[1:] != closed[:-1])
    t_ns = (polls[kept] * MS).astype(np.int64)
    return Drawn(
        scene,
        ButtonSignal(t_ns, closed[kept]),
        None if twin is None else ButtonSignal(t_ns, twin[kept]),
        t_ns,
        tuple((beats_ms[COUNT_IN:] * MS).astype(np.int64).tolist()),
        faulty[COUNT_IN:],
        (~beside & (~pressed | faulty))[COUNT_IN:],
    )


def _closures(rng: Rng, kind: str, start: float, length: float) -> list[tuple[float, float]]:
    """What the contact makes of one press: bounce of up to 4 ms when it closes, and the fault."""
    end = start + length
    if kind == "missed":
        return []
    if kind == "short":
        return [(start, start + float(rng.uniform(4.5, 10.0)))]
    if kind == "stays":
        return [(start, end + float(rng.uniform(200.0, 1500.0)))]
    if kind == "split":
        opens = float(rng.uniform(25.0, 45.0))
        return [(start, start + opens), (start + opens + float(rng.uniform(17.0, 40.0)), end)]
    bounce = float(rng.uniform(0.5, 4.0))
    return [(start, start + 1.0), (start + 1.0 + bounce, end)]


def _polled(polls: np.ndarray, stretches: list[tuple[float, float]]) -> np.ndarray:
    closed = np.zeros(len(polls), dtype=bool)
    for a, b in stretches:
        closed[np.searchsorted(polls, a) : np.searchsorted(polls, b)] = True
    return closed


def work_through(drawn: Drawn, limits: Limits = LIMITS, check: LightCheck | None = None) -> tuple[Assessment, int]:
    """Work the try through with the real check until it is complete, as the bench does: (assessment, beats sounded).

    The check is only asked after beats at which a decision is possible at all: from the 31st on, or after a fault or a
    beat that neither registered where two or more have been.
    """
    check = check or LightCheck()
    begun, made = check.begun.beats, check.begun.at_worst[1]
    most = min(len(drawn.beats_ns), drawn.scene.ends_early or len(drawn.beats_ns))
    amiss = drawn.faulty | drawn.unseen
    for beats in range(1, most + 1):
        made += bool(amiss[beats - 1])
        if (made < 2 or not amiss[beats - 1]) and begun + beats < (100 if check.long else 31):
            continue
        take = drawn.take(beats)
        if check.progress(take, limits).complete:
            return check.assess(take, limits), beats
    return check.assess(drawn.take(most), limits), most


def visit(rng: Rng, scene: Scene, share: float, limits: Limits = LIMITS, *, long: bool = False) -> tuple[Outcome, int]:
    """A control's light press in one visit, as the bench goes on from try to try: (outcome that counts, beats in all).

    A try that has to be done without the twin is done so (then the hand takes back what it let pass); one that does not
    pass is done again up to `scene.repeats` times.
    """
    tries: list[Assessment] = []
    outcome, beats, made = Outcome.NOT_DONE, 0, 0
    while made < scene.repeats:
        check = LightCheck(long=long).going_on(tries, limits)
        alone = replace(scene, twin=scene.twin and not check.alone, slip=0.0 if check.alone else scene.slip)
        done, sounded = work_through(draw(rng, alone, share, 130 if long else MOST_BEATS), limits, check)
        beats += sounded
        tries.append(done)
        made += not done.again or (not scene.ends_early and (check.alone or not scene.twin))
        if not done.again:
            outcome = done.outcome
        if outcome is Outcome.PASS:
            break
    return outcome, beats


@dataclass(frozen=True, slots=True)
class Score:
    """What became of many tries at one share of faulty presses."""

    passed: float
    borderline: float
    failed: float
    undone: float
    median_beats: float
    most_beats: int
    units: int

    def error(self, rate: float) -> float:
        """Standard error of a share of about `rate` over so many tries."""
        return float(np.sqrt(rate * (1.0 - rate) / self.units))


def score(rng: Rng, scene: Scene, share: float, units: int, *, long: bool = False) -> Score:
    """Draw and work through `units` controls."""
    ends = [visit(rng, scene, share, long=long) for _ in range(units)]
    outcomes = [outcome for outcome, _ in ends]
    shares = [outcomes.count(o) / units for o in (Outcome.PASS, Outcome.BORDERLINE, Outcome.FAIL, Outcome.NOT_DONE)]
    beats = np.array([n for _, n in ends])
    return Score(*shares, float(np.median(beats)), int(beats.max()), units)
