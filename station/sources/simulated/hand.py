"""A simulated person: does what the running check asks, again and again, until something else is asked.

The hand works ahead of the clock by as much as the unit is computed ahead (`SimulatedSource`), so what it is
asked takes effect there at the earliest; its own reaction time is longer than that, and beats it anticipates.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from station.sources.simulated.design import PadControl
from station.sources.simulated.freely import free_run
from station.sources.simulated.habits import Habits, brushed, lazy_rim, leaned, leaning
from station.sources.simulated.moves import (
    MOVES,
    WHOLE,
    Go,
    HatMove,
    at_once,
    flick_and_lean,
    flick_corners,
    flick_up_and_leave,
    idle,
    in_turn,
    press_shape,
)
from station.sources.simulated.path import Move, unsteady
from station.sources.simulated.sensing import LYING, Turned
from station.sources.simulated.style import Style, style_of

F64 = NDArray[np.float64]
Strength = Literal["light", "normal", "firm"]
NS = 1_000_000_000
_STRENGTH: dict[Strength, float] = {"light": 1.0, "normal": 1.5, "firm": 2.6}
"""how much harder than a light press (common practice, no source)"""
_ASKS_FOR: dict[str, Strength] = {"long_press": "light", "normal_press": "normal", "firm_press": "firm"}
"""checks besides the light press that are pressed on the beats, and how hard"""
FREE_RUN = "glance"
"""the check that asks for all sorts of movement at once"""
_MOVED = frozenset((*MOVES, *WHOLE, FREE_RUN))
PLAIN = Habits()
_NOTICES_S = 0.2
"""so long after a beat it knows that it did not press (common practice, no source)"""
_HEARD_FROM, _HEARD_TO = 0.04, 0.45
"""shares by which an interval has to differ from the last for the hand to take it for another tempo, and not for a beat
that was left out (common practice, no source)"""
_TOGETHER_S = 0.008
"""rms by which two fingers that press together differ (common practice, no source)"""


@dataclass(slots=True)
class Acts:
    """What the hand does over one stretch of ticks, by control id; controls that it does not touch are absent."""

    sticks: dict[str, Move] = field(default_factory=dict)
    triggers: dict[str, Move] = field(default_factory=dict)
    forces: dict[str, F64] = field(default_factory=dict)
    tilts: dict[str, F64] = field(default_factory=dict)
    turned: Turned | None = None
    touched: F64 | None = None
    hats: dict[str, HatMove] = field(default_factory=dict)
    flexed: bool = False


@dataclass(frozen=True, slots=True)
class _Press:
    control: str
    begin_s: float
    peak: float
    lasts_s: float


@dataclass(frozen=True, slots=True)
class _Asked:
    check: str
    control: str
    twin: str | None
    period_s: float
    at_ns: int
    also: tuple[str, ...] = ()


class SimulatedHand:
    """A hand of a given skill, 0 careless … 1 careful. Safe to ask from another thread than the one that acts."""

    def __init__(self, skill: float = 0.9, seed: int = 0, habits: Habits = PLAIN) -> None:
        self.style: Style = habits.styled(style_of(skill))
        self.strength: Strength = "light"
        """how hard it presses on a beat where a light press is asked for"""
        self.goes_done = 0
        """how many goes it has finished in all"""
        self.repeats = True
        """whether it goes on with what it was asked until something else is asked"""
        self._rng = np.random.default_rng([seed, 0x48414E44])
        self._lock = threading.Lock()
        self._waiting: list[_Asked] = []
        self._beats: list[int] = []
        self._asked: _Asked | None = None
        self._go: Go | None = None
        self._go_begin = 0
        self._goes = 0
        self._rounds = 0
        """how many times in a row it was asked the same thing before"""
        self._goes_on_from = ""
        """the check of the same controls whose movement the one that it does now goes on from, without hands off"""
        self._presses: list[_Press] = []
        self._expected_s: float | None = None
        self._heard_s: float | None = None
        self._let_pass: list[tuple[float, float]] = []
        self._first_stick = ""
        self._controls: tuple[PadControl, ...] = ()
        self._habits = habits
        self._odd_rng = np.random.default_rng([seed, 0x48414249])
        self._lean_deg = float(self._odd_rng.uniform(0.0, 360.0))

    def meet(self, controls: Sequence[PadControl]) -> None:
        """Take a unit in hand; its first stick is the one that it moves when the check is one of the whole unit."""
        self._controls = tuple(controls)
        self._first_stick = next(c.id for c in controls if c.kind == "stick")

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
        """Do what `check` asks, from `at_ns` on. `twin`: pressed along on each beat. `also`: controls that it is asked
        of at the same time: sticks and triggers are moved at once, buttons one after the other.

        With `beats_per_minute` it gets into the tempo: it answers the first beat, and from then on presses for the
        next one without waiting for it. `kind` is for other hands; this one goes by the check.
        """
        period_s = 60.0 / beats_per_minute if beats_per_minute > 0 else 0.0
        with self._lock:
            self._waiting.append(_Asked(check, control, twin, period_s, at_ns, also))

    def beat(self, t_ns: int) -> None:
        """A beat at that moment, of the count-in too; it is pressed on while presses are asked for."""
        with self._lock:
            self._beats.append(t_ns)

    def rest(self, at_ns: int) -> None:
        """Hands off from `at_ns` on."""
        self.ask("", "", None, "", 0, at_ns)

    def takes_back(self, now_ns: int) -> bool:
        """Whether it has just noticed that it let a beat pass: True once for each, before the next beat sounds."""
        with self._lock:
            while self._let_pass and now_ns / NS > self._let_pass[0][0] + _NOTICES_S:
                beat_s, period_s = self._let_pass.pop(0)
                if now_ns / NS < beat_s + 0.9 * period_s:
                    return True
        return False

    def noticed(self) -> tuple[int, ...]:
        """The beats that it let pass and notices, ns, since this was asked last; a recording takes them back."""
        with self._lock:
            beats = tuple(round(beat_s * NS) for beat_s, _ in self._let_pass)
            self._let_pass.clear()
        return beats

    def act(self, first: int, count: int, tick_s: float) -> Acts:
        """What it does in ticks first … first + count − 1. To be called for consecutive stretches."""
        acts = Acts()
        begin = 0
        for at, asked in self._due(first, count, tick_s):
            self._carry_on(acts, first + begin, at - begin, begin, count, tick_s)
            begin = at
            same = self._asked is not None and (asked.check, asked.control) == (self._asked.check, self._asked.control)
            self._rounds = self._rounds + 1 if same else 0
            goes_on = self._asked is not None and not same and asked.control == self._asked.control
            self._goes_on_from = self._asked.check if self._asked is not None and goes_on else ""
            self._asked, self._go, self._goes = asked, None, 0
            self._expected_s = self._heard_s = None
            self._let_pass.clear()
            self._presses = [p for p in self._presses if p.begin_s < (first + at) * tick_s]
            delay_s = self.style.reaction_s * float(self._rng.uniform(0.7, 1.3))
            self._go_begin = first + at + round(delay_s / tick_s)
        self._carry_on(acts, first + begin, count - begin, begin, count, tick_s)
        self._press_on_beats(acts, first, count, tick_s)
        if self._habits.lean_pct:
            self._lean(acts, count, tick_s)
        return acts

    def _lean(self, acts: Acts, count: int, tick_s: float) -> None:
        """A thumb rests on the first stick."""
        asked, stick = self._asked, self._first_stick
        check, control = ("", "") if asked is None else (asked.check, asked.control)
        if check == "rest" and control == stick and self._go is not None:
            return  # it flicks the stick first
        place = leaning(check, control, self._habits.lean_pct, self._lean_deg, stick)
        if place is not None:
            wavering = unsteady((count, 2), tick_s, 0.3 * self.style.tremor, 0.0, self._odd_rng)
            acts.sticks[stick] = leaned(acts.sticks.get(stick), place, count, wavering)

    def _due(self, first: int, count: int, tick_s: float) -> list[tuple[int, _Asked]]:
        """What was asked for this stretch or earlier, with the tick inside the stretch at which it begins to count."""
        end_ns = (first + count) * tick_s * NS
        with self._lock:
            due = sorted((a for a in self._waiting if a.at_ns < end_ns), key=lambda a: a.at_ns)
            self._waiting = [a for a in self._waiting if a.at_ns >= end_ns]
        return [(min(max(round(a.at_ns / NS / tick_s) - first, 0), count - 1), a) for a in due]

    def _carry_on(self, acts: Acts, first: int, count: int, at: int, whole: int, tick_s: float) -> None:
        """Fill ticks at … at + count − 1 of a stretch of `whole` ticks with what is under way."""
        done = 0
        while done < count and self._asked is not None and self._asked.check in _MOVED:
            if self._go is None and self._goes and not self.repeats:
                return
            now = first + done
            if now < self._go_begin:
                done += min(self._go_begin - now, count - done)
                continue
            if self._go is None:
                self._go, self._go_begin = self._next_go(self._asked, tick_s), now
                self._goes += 1
            part = slice(now - self._go_begin, min(now - self._go_begin + count - done, self._go.count))
            _fill(acts, self._go, part, at + done, whole)
            done += part.stop - part.start
            if part.stop >= self._go.count:
                self.goes_done += 1
                self._go, self._go_begin = None, first + done

    def _next_go(self, asked: _Asked, tick_s: float) -> Go:
        if asked.check == "rest" and self._goes:
            return idle(asked.control, self.style, self._rng, tick_s)
        if asked.check == FREE_RUN:
            wanted = (asked.control, *asked.also)
            return free_run([c for c in self._controls if c.id in wanted], self.style, self._rng, tick_s)
        if asked.check in WHOLE:
            return WHOLE[asked.check](self._controls, self.style, self._rng, tick_s)
        make: Callable[..., Go] = MOVES[asked.check]
        if asked.check == "rest" and self._rounds % 2:
            make = flick_up_and_leave
        if asked.check == "letgo" and self._goes_on_from == "travel" and not self._goes:
            make = flick_corners
        if asked.check == "rim" and self._odd_rng.random() < self._habits.lazy:
            make = lazy_rim
        if asked.check == "rest" and self._habits.lean_pct and asked.control == self._first_stick:
            place = leaning("rest", asked.control, self._habits.lean_pct, self._lean_deg, self._first_stick)
            make = flick_and_lean(place or (0.0, 0.0))
        controls = (asked.control or self._first_stick, *asked.also)
        goes = [make(self._meant(control), self.style, self._rng, tick_s) for control in controls]
        go = goes[0] if len(goes) == 1 else in_turn(goes) if asked.check == "contact" else at_once(goes)
        if self._odd_rng.random() < self._habits.brush:
            go = brushed(go, self._neighbours(asked.control or self._first_stick), self._odd_rng, tick_s)
        return go

    def _meant(self, control: str) -> str:
        """The control that it takes to be the one asked for."""
        if not self._habits.wrong or self._odd_rng.random() >= self._habits.wrong:
            return control
        kinds = {c.id: c.kind for c in self._controls}
        others = [c for c, kind in kinds.items() if kind == kinds[control] and c != control]
        return others[int(self._odd_rng.integers(len(others)))] if others else control

    def _neighbours(self, control: str) -> tuple[str, ...]:
        """Buttons within reach of the hand that works a control."""
        zones = {c.id: c.zone for c in self._controls}
        return tuple(
            c.id
            for c in self._controls
            if c.kind == "button" and c.zone == zones[control] and c.id != control and not c.id.endswith("_press")
        )

    def _press_on_beats(self, acts: Acts, first: int, count: int, tick_s: float) -> None:
        begin_s, end_s = first * tick_s, (first + count) * tick_s
        with self._lock:
            beats, self._beats = self._beats, []
        for at_ns in beats:
            self._follow(at_ns / NS, begin_s)
        for press in self._presses:
            if press.begin_s < end_s:
                at_s = np.arange(first, first + count, dtype=np.float64) * tick_s - press.begin_s
                force = press_shape(at_s, press.peak, press.lasts_s)
                acts.forces[press.control] = acts.forces.get(press.control, np.zeros(count)) + force
        self._presses = [p for p in self._presses if p.begin_s + p.lasts_s > end_s]

    def _follow(self, beat_s: float, earliest_s: float) -> None:
        """Press on a beat that was not expected, and get ready for the next."""
        asked = self._asked
        if asked is None or not (asked.check == "light" or asked.check in _ASKS_FOR):
            return
        if self._expected_s is None or abs(beat_s - self._expected_s) > 0.3 * asked.period_s:
            self._press_on(asked, beat_s, earliest_s)
        if asked.period_s:
            asked = self._asked = self._in_tempo(asked, beat_s)
            self._expected_s = beat_s + asked.period_s
            self._press_on(asked, self._expected_s, earliest_s)

    def _in_tempo(self, asked: _Asked, beat_s: float) -> _Asked:
        """With the tempo as it was between this beat and the one before, if it has changed."""
        heard_s, self._heard_s = self._heard_s, beat_s
        period_s = asked.period_s if heard_s is None else beat_s - heard_s
        changed = _HEARD_FROM < abs(period_s / asked.period_s - 1.0) < _HEARD_TO
        return replace(asked, period_s=period_s) if changed else asked

    def _press_on(self, asked: _Asked, beat_s: float, earliest_s: float) -> None:
        """Decide how to press on a beat: forgotten, early, late, one finger beside its button."""
        style, rng = self.style, self._rng
        draw = rng.random(3)
        late_s, together = rng.normal(style.late_s, style.spread_s), rng.standard_normal(4)
        lasts_s = style.press_s * float(rng.uniform(0.8, 1.25))
        if draw[0] < style.forget:
            if draw[1] < style.notice:
                with self._lock:
                    self._let_pass.append((beat_s, asked.period_s))
            return
        strength = _ASKS_FOR.get(asked.check, self.strength)
        typical, spread, least = style.light
        for k, control in enumerate((asked.control, asked.twin)):
            if not control or draw[1 + k] < style.slip:
                continue
            control = self._meant(control)
            hard = 0.8 * together[0] + 0.6 * together[1 + k]
            peak = max(least, typical * float(np.exp(spread * hard))) * _STRENGTH[strength]
            begin_s = max(float(beat_s + late_s + k * _TOGETHER_S * together[3]), earliest_s)
            self._presses.append(_Press(control, begin_s, peak, lasts_s))
            if self._odd_rng.random() < self._habits.brush and (near := self._neighbours(control)):
                brushes = near[int(self._odd_rng.integers(len(near)))]
                if brushes not in (asked.control, asked.twin):
                    self._presses.append(_Press(brushes, begin_s, 1.2, 0.6 * lasts_s))


def _fill(acts: Acts, go: Go, part: slice, at: int, whole: int) -> None:
    """Copy a part of a go into the acts of a stretch of `whole` ticks, beginning at tick `at` of it."""
    into = slice(at, at + part.stop - part.start)
    for sources, targets in ((go.sticks, acts.sticks), (go.triggers, acts.triggers)):
        for control, move in sources.items():
            if control not in targets:
                shape = (whole, *move.place.shape[1:])
                targets[control] = Move(np.zeros(shape), np.zeros(whole, dtype=np.bool_))
            targets[control].place[into] = move.place[part]
            targets[control].held[into] = move.held[part]
    for givens, takers in ((go.forces, acts.forces), (go.tilts, acts.tilts)):
        for control, given in givens.items():
            takers.setdefault(control, np.zeros(whole))[into] = given[part]
    for control, hat in go.hats.items():
        target = acts.hats.setdefault(control, HatMove(np.zeros(whole), np.zeros(whole)))
        target.bearing_deg[into] = hat.bearing_deg[part]
        target.force[into] = hat.force[part]
    if go.turned is not None:
        if acts.turned is None:
            acts.turned = Turned(np.tile(LYING, (whole, 1)), np.zeros((whole, 3)))
        acts.turned.force_g[into], acts.turned.turning[into] = go.turned.force_g[part], go.turned.turning[part]
    if go.touched is not None:
        if acts.touched is None:
            acts.touched = np.zeros((whole, 3))
        acts.touched[into] = go.touched[part]
    acts.flexed |= go.flexed
