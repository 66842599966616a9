"""Full travel: push fast to four directions and hold."""

from __future__ import annotations

from station.checks.axes import (
    DEAD_AXIS,
    DIRECTIONS,
    axis_of,
    dead_axis,
    dead_axis_assessment,
    never_reported,
    range_short,
    stick_signal,
    waiting,
)
from station.checks.base import again, finding
from station.checks.decide import judged, out_of_limit, outcome_of, reading_outcome
from station.checks.looked import NOTHING, Looked, Part, Spot
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Plot,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.gate import reach
from station.measure.means import effective_step
from station.measure.reach import Held, Met, farthest, met, rests_at, straight
from station.measure.states import PROGRESS_POINTS, thin
from station.measure.transition import LAG_FROM_MS, QUICK_MS, Push, own_creep, pushed, pushes, still_to_go
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words import looked as seen
from station.words import unseen
from station.words.grammar import listed, some

NEAR_DEG = 32.0
HELD_MS = 250.0
STEADY_PCT, STEADY_SHARE = 0.12, 0.15
"""a stick pressed against its gate wobbles off its edge by less than this (slow part, rms), or by less than this share
of what it slides along; one held short of the gate by hand wobbles alike both ways (simulated: pressed 0.06 at most in
19 of 20, held in the air 0.23 at least in 49 of 50)"""
EARLY_SHARE, ADRIFT_PCT = 0.1, 0.15
"""a lag takes three tenths of its creep to reach 90 % (computed); a hand that is there at once and then drifts
outwards, wobbling by this much, never was at the edge"""
END_PCT = 100.0
"""a stick that came to the end of its range came far enough, by whatever hand"""
UNSURE_PCT = 2.0
"""a push that came no farther than this beyond the limit is asked for once more: the hand can only shorten it"""
AGREE_PCT, ALIKE_PCT = 1.0, 3.0
"""two pushes against one stop come as far as each other within this and their uncertainties"""
HAND_RATIO = 1.0
"""creep over rise: 0.33 for an even push, 0.55 for a smooth one, 1.66 for a first-order lag (computed)"""


class Travel:
    """Reach in each direction, and the creep of the last part of the way."""

    name = "travel"
    title = words.TRAVEL
    about = Description(
        kinds=("stick",),
        together="all",
        followed_by=("letgo", "rest"),
        unseen=unseen.TRAVEL,
        readings=(
            ReadingKind("reach", words.TRAVEL_REACH, "%", 1, limit="reach", parts=DIRECTIONS),
            ReadingKind("creep", words.TRAVEL_CREEP, "ms", 0, limit="creep", unseen=unseen.CREEP),
        ),
        findings=(
            FindingKind("short_reach", words.SHORT_REACH, {"reach": "reach"}),
            FindingKind("creep", words.CREEP, {"creep": "creep"}),
            DEAD_AXIS,
        ),
        short=words.TRAVEL_SHORT,
        plot=Plot(),
        due_after="any opening",
        pictures=("time", "path"),
        looked=lambda take, limits: _looked(take),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "stick"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        return Prompt(self.title, words.TRAVEL_DO, words.TRAVEL_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        signal = stick_signal(take)
        if signal is None:
            return waiting()
        by_direction = _pushes(signal, take, thinned=True)
        limit, _ = limits.get(self.name, {}).get("reach", (0.0, 0.0))
        missing = sum(not found for found in by_direction.values())
        unsure = [d for d, found in by_direction.items() if len(found) == 1 and found[0].held_pct < limit + UNSURE_PCT]
        text = words.TO_GO.format(what=some(missing, words.DIRECTION)) if missing else ""
        if unsure and not missing:
            text = words.TRAVEL_ONCE_MORE.format(directions=listed([words.DIRECTIONS[d] for d in unsure]))
        marks = {"reach": {d: max(p.held_pct for p in found) for d, found in by_direction.items() if found}}
        share = 1.0 - (missing + len(unsure) / 2.0) / len(DIRECTIONS)
        return Progress(not text, text, share, marks=marks)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        signal = stick_signal(take)
        if signal is None:
            return never_reported(take.control)
        axis = dead_axis(signal)
        if axis is not None:
            return dead_axis_assessment(take.control, axis)
        by_direction = _pushes(signal, take, thinned=False)
        missing = [d for d, found in by_direction.items() if not found]
        if missing:
            directions = listed([words.DIRECTIONS[d] for d in missing])
            return again(words.TRAVEL_MISSING.format(directions=directions))
        step = max(signal.x_step_pct, signal.y_step_pct)
        pressed = {direction: _pressed(found, step) for direction, found in by_direction.items()}
        readings = judged(self.name, _readings(pressed, signal, take.control, take.end_ns), limits)
        problem = _range(readings, signal, take.end_ns)
        ways = _straight(by_direction, signal, take.control, take.end_ns)
        problem = problem or _hand(readings, by_direction, pressed, ways, step)
        if problem:
            return again(problem, readings)
        return Assessment(outcome_of(readings), readings, _findings(readings, pressed, take.control))


def _looked(take: Take) -> Looked:
    signal = stick_signal(take)
    if signal is None:
        return NOTHING
    step = max(signal.x_step_pct, signal.y_step_pct)
    parts: list[Part] = []
    spots: list[Spot] = []
    for direction, found in _pushes(signal, take, thinned=False).items():
        if found:
            pressed = _pressed(found, step)
            parts += [Part(p.begin_ns, p.end_ns, "" if p in pressed else seen.NOT_AS_FAR) for p in found]
            spots += _push_spots(direction, _farthest(found), _quickest(pressed))
    return Looked(tuple(sorted(parts, key=lambda p: p.begin_ns)), tuple(spots))


def _push_spots(direction: str, far: Push, quick: Push) -> list[Spot]:
    axis, said = axis_of(direction), words.DIRECTIONS[direction]
    return [
        Spot(
            "short_reach",
            seen.REACHES.format(direction=said),
            far.begin_ns,
            far.end_ns,
            axis,
            direction=direction,
            faulty=False,
        ),
        Spot(
            "creep",
            seen.CREEPS.format(direction=said),
            quick.begin_ns,
            quick.end_ns,
            axis,
            direction=direction,
            faulty=False,
        ),
    ]


def _pushes(signal: StickSignal, take: Take, thinned: bool) -> dict[str, list[Push]]:
    """The held pushes by direction, in the order up, right, down, left."""
    keep = thin(len(signal.t_ns), PROGRESS_POINTS) if thinned else slice(None)
    x, y = signal.x_pct[keep], signal.y_pct[keep]
    gate = take.control.gate if take.control else "round"
    out: dict[str, list[Push]] = {direction: [] for direction in DIRECTIONS}
    for push in pushes(signal.t_ns[keep], x, y, reach(x, y, gate), take.end_ns, gate, not thinned):
        nearest = round(push.bearing_deg / 90.0) % 4
        off = abs((push.bearing_deg - 90.0 * nearest + 180.0) % 360.0 - 180.0)
        if off <= NEAR_DEG and push.hold_ms >= HELD_MS:
            out[DIRECTIONS[nearest]].append(push)
    return out


def _pressed(found: list[Push], step: float) -> list[Push]:
    """The pushes that count: not held in the air, if any was not, and as far as the farthest of them within 3 %."""
    pressed = [push for push in found if not _by_hand(push, step)] or found
    least = max(push.held_pct for push in pressed) - ALIKE_PCT
    return [push for push in pressed if push.held_pct >= least]


def _farthest(found: list[Push]) -> Push:
    return max(found, key=lambda p: p.held_pct)


def _quickest(found: list[Push]) -> Push:
    return min(found, key=lambda p: p.creep_ms)


def _slowest_direction(by_direction: dict[str, list[Push]]) -> tuple[str, Push]:
    return max(((d, _quickest(found)) for d, found in by_direction.items()), key=lambda pair: own_creep(pair[1]).ms)


def _readings(
    by_direction: dict[str, list[Push]], signal: StickSignal, control: Control | None, end_ns: int
) -> tuple[Reading, ...]:
    out = []
    for direction, ways in _straight(by_direction, signal, control, end_ns).items():
        far = farthest(ways)
        out.append(Reading(f"reach_{direction}", far.pct, "%", far.uncertainty, n=len(ways)))
    creep = own_creep(_slowest_direction(by_direction)[1])
    out.append(Reading("creep", creep.ms, "ms", creep.uncertainty_ms, n=len(by_direction)))
    return tuple(out)


def _straight(
    by_direction: dict[str, list[Push]], signal: StickSignal, control: Control | None, end_ns: int
) -> dict[str, list[Met]]:
    """How far each push came straight in its direction, wherever beside it the hand aimed."""
    steps = (
        effective_step(signal.x_code, signal.x_step_pct),
        effective_step(signal.y_code, signal.y_step_pct),
    )
    gate = control.gate if control else "round"
    deflection = reach(signal.x_pct, signal.y_pct, gate)
    rest = rests_at(signal.t_ns, signal.x_pct, signal.y_pct, pushed(signal.t_ns, deflection, end_ns), end_ns)
    series = (signal.t_ns, signal.x_pct, signal.y_pct)
    out: dict[str, list[Met]] = {}
    for direction, found in by_direction.items():
        towards = 90.0 * DIRECTIONS.index(direction)
        held = [Held(p.begin_ns, p.end_ns, still_to_go(p).pct, p.creep_ms >= LAG_FROM_MS) for p in found]
        out[direction] = [met(*series, one, towards, rest, gate, steps) for one in held]
    return out


def _range(readings: tuple[Reading, ...], signal: StickSignal, end_ns: int) -> str:
    """What to say where a reach falls short because the model's range does."""
    short = any(r.name.startswith("reach_") and reading_outcome(r) is not Outcome.PASS for r in readings)
    return range_short(signal, end_ns)[1] if short else ""


def _hand(
    readings: tuple[Reading, ...],
    by_direction: dict[str, list[Push]],
    pressed: dict[str, list[Push]],
    ways: dict[str, list[Met]],
    step: float,
) -> str:
    """What the hand did wrong: a push held in the air, or a slow one where the creep does not pass; else nothing."""
    suspects = {r.name: r for r in readings if reading_outcome(r) not in (None, Outcome.PASS)}
    cut_off = {r.name for r in readings if r.value == END_PCT}
    for direction, found in by_direction.items():
        told = f"reach_{direction}" not in cut_off and _farthest(found).creep_ms < LAG_FROM_MS  # a lag wobbles too
        if (told or f"reach_{direction}" in suspects) and all(_by_hand(push, step) for push in found):
            return words.TRAVEL_FIRMLY.format(direction=words.DIRECTIONS[direction])
        short = suspects.get(f"reach_{direction}")
        if short is not None and len(found) > 1 and not _agree(ways[direction]):
            return words.TRAVEL_FIRMLY.format(direction=words.DIRECTIONS[direction])
    if "creep" in suspects:
        direction, push = _slowest_direction(pressed)
        if push.rise_ms > QUICK_MS and push.creep_ms < HAND_RATIO * push.rise_ms:
            return words.TRAVEL_FASTER.format(direction=words.DIRECTIONS[direction])
        if push.early_ms < EARLY_SHARE * push.creep_ms and push.wobble_pct > ADRIFT_PCT:
            return words.TRAVEL_FIRMLY.format(direction=words.DIRECTIONS[direction])
    return ""


def _agree(found: list[Met]) -> bool:
    """Whether a second push came as far as the farthest, straight in the direction, as far as each by itself tells: a
    stop stays where it is, a hand in the air does not."""
    second, first = sorted((straight([one]) for one in found), key=lambda one: one.pct)[-2:]
    return first.pct - second.pct <= AGREE_PCT + first.uncertainty + second.uncertainty


def _by_hand(push: Push, step: float) -> bool:
    """Whether the push was held in the air, short of the gate. A value that wavers between two codes may have an rms of
    half a `step`."""
    codes = 0.5 * step if push.span_pct <= 1.5 * step else 0.0
    return push.wobble_pct > max(STEADY_PCT, codes, STEADY_SHARE * push.slide_pct)


def _findings(
    readings: tuple[Reading, ...], by_direction: dict[str, list[Push]], control: Control | None
) -> tuple[Finding, ...]:
    bad = {r.name: r for r in readings if out_of_limit(r)}
    found = []
    for direction in DIRECTIONS:
        reading = bad.get(f"reach_{direction}")
        if reading is not None:
            where = axis_of(direction)
            found.append(finding("short_reach", control, {"reach": reading}, axis=where, direction=direction))
    if "creep" in bad:
        direction, _ = _slowest_direction(by_direction)
        creep = {"creep": bad["creep"]}
        found.append(finding("creep", control, creep, axis=axis_of(direction), direction=direction))
    return tuple(found)
