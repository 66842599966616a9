"""Light press: does a button register every press that is only just hard enough?

The person presses lightly on each beat. Wald's sequential test decides from the presses in their order; the twin
control, pressed on the same beat, is the witness that tells a miss of the unit from a slip of the hand.
The same is done with normal and with firm presses where light ones fail, and with a known mass in the finger's place.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from station.checks.base import again, button_of, count, finding, spoken
from station.checks.strengths import CHECK_OF, STRENGTHS, PressStrength, shown_strength, spoken_strengths
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Params,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure import sequential
from station.measure.arrays import NS_PER_MS
from station.measure.beats import BeatPress, Tally, tally
from station.measure.binomial import clopper_pearson
from station.measure.contacts import Closures, closures, poll_period_ns
from station.measure.force import weight_n, weight_uncertainty_n
from station.measure.uncertainty import duration, expanded
from station.sheets.model import Control, Sheet
from station.words import checks as words
from station.words import figures
from station.words.grammar import some

BEATS_PER_MINUTE = 120
CONFIDENCE = 0.95
_OUTCOMES = {
    "accept": Outcome.PASS,
    "reject": Outcome.FAIL,
    "undecided": Outcome.BORDERLINE,
}
_TITLES: Mapping[PressStrength, tuple[str, str]] = MappingProxyType(
    {
        "light": (words.LIGHT, words.LIGHT_SHORT),
        "normal": (words.NORMAL, words.NORMAL_SHORT),
        "firm": (words.FIRM, words.FIRM_SHORT),
    }
)
_READINGS = (
    ReadingKind("force", words.PRESS_FORCE, "N", 2),
    ReadingKind("good_rate", words.PRESS_GOOD_RATE, "%", 2),
    ReadingKind("bad_rate", words.PRESS_BAD_RATE, "%", 2),
    ReadingKind("beats", words.PRESS_BEATS),
    ReadingKind("registered", words.PRESS_REGISTERED),
    ReadingKind("missed", words.PRESS_MISSED),
    ReadingKind("split", words.PRESS_SPLIT),
    ReadingKind("short", words.PRESS_SHORT),
    ReadingKind("miss_rate_upper", words.PRESS_MISS_RATE_UPPER, "%", 1),
    ReadingKind("shortest", words.PRESS_SHORTEST, "ms", 1),
)
_FAULTY = (("misses", "missed"), ("splits", "split"), ("shorts", "short"))
"""finding's code, and the state of the beats that it counts"""


def _misses_or_contrast(params: Params) -> str:
    return words.CONTRAST if "passing" in params else words.MISSES


_FINDINGS = (
    FindingKind(
        "misses",
        _misses_or_contrast,
        {"strength": shown_strength, "failing": spoken_strengths, "passing": spoken_strengths},
    ),
    FindingKind("splits", words.SPLITS, {"strength": shown_strength}),
    FindingKind("shorts", words.SHORTS, {"strength": shown_strength}),
)


def _describe(strength: PressStrength) -> Description:
    return Description(
        kinds=("button",),
        readings=_READINGS,
        findings=_FINDINGS,
        rates=("faulty_rate",) if strength == "light" else (),
        short=_TITLES[strength][1],
        strength=strength,
        counts=True,
    )


class LightCheck:
    """A press for each beat until the sequential test has decided, at most 60 that count.

    `strength` says how hard; `mass_g` is the mass, in grams, that presses in the finger's place.
    """

    def __init__(self, strength: PressStrength = "light", mass_g: float | None = None) -> None:
        self.name = CHECK_OF[strength]
        self.title = _TITLES[strength][0]
        self.about = _describe(strength)
        self.strength = strength
        self.mass_g = mass_g

    def weighing(self, mass_g: float | None) -> LightCheck:
        """The same check with that mass in the finger's place; None: the finger."""
        return LightCheck(self.strength, mass_g)

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "button"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        twin = None if control is None else witness_of(control, sheet)
        who = spoken(control)
        along = "" if twin is None else spoken(twin)
        if self.mass_g is not None:
            mass, hard = figures.plain(self.mass_g), words.MASS_SOFTLY
            do = words.MASS_DO.format(mass=mass, who=who)
            if twin is not None:
                do = words.MASS_DO_TWINS.format(mass=mass, who=who, twin=along)
        else:
            how, hard = words.HOW_TO_PRESS[self.strength], words.HOW_HARD[self.strength]
            do = words.PRESS_DO.format(who=who, how=how)
            if twin is not None:
                do = words.PRESS_DO_TWINS.format(who=who, twin=along, how=how)
        hint = words.PRESS_HINT_ALONE.format(hard=hard)
        if twin is not None:
            hint = words.PRESS_HINT_TWINS.format(hard=hard)
        return Prompt(self.title, do, hint, BEATS_PER_MINUTE)

    def progress(self, take: Take, limits: Limits) -> Progress:
        plan, beats = plan_of(limits), _tally(take)
        counted = _counted(beats)
        verdict, _ = sequential.run(plan, [b.faulty for b in counted])
        readings = self._readings(take, beats, limits)
        marks = {"beats": tuple((b.t_ns, b.state) for b in beats.beats)}
        if verdict != "undecided" or len(counted) >= plan.stop_at:
            return Progress(True, "", 1.0, readings, marks)
        left = _to_go(plan, counted)
        to_go = words.TO_GO.format(what=some(left, words.GOOD_PRESS))
        return Progress(False, to_go, len(counted) / (len(counted) + left), readings, marks)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        plan, beats = plan_of(limits), _tally(take)
        counted = _counted(beats)
        readings = self._readings(take, beats, limits)
        if not beats.beats:
            return again(words.PRESS_NO_BEAT, readings)
        if not counted:
            return again(words.PRESS_UNSEEN.format(who=spoken(take.control)), readings)
        verdict, _ = sequential.run(plan, [b.faulty for b in counted])
        if verdict == "undecided" and len(counted) < plan.stop_at:
            return again(words.PRESS_MORE.format(presses=some(_to_go(plan, counted), words.PRESS)), readings)
        outcome = _OUTCOMES[verdict]
        return Assessment(outcome, readings, () if outcome is Outcome.PASS else self._findings(take.control, counted))

    def _readings(self, take: Take, beats: Tally, limits: Limits) -> tuple[Reading, ...]:
        force = () if self.mass_g is None else (_force(self.mass_g),)
        return (*force, *_readings(take, beats), *_rates(limits))

    def _findings(self, control: Control | None, counted: tuple[BeatPress, ...]) -> tuple[Finding, ...]:
        states = [b.state for b in counted]
        return tuple(
            finding(code, control, {"strength": self.strength, "faulty": states.count(state), "counted": len(counted)})
            for code, state in _FAULTY
            if state in states
        )


HARDER: Mapping[str, LightCheck] = MappingProxyType({CHECK_OF[s]: LightCheck(s) for s in STRENGTHS if s != "light"})
"""name → check: the same with harder presses, done where light ones fail or where the person asks for it"""


def plan_of(limits: Limits) -> sequential.Plan:
    """Wald's plan with the good and the bad share of faulty presses from the limits (`light.faulty_rate`, %)."""
    good, bad = limits["light"]["faulty_rate"]
    return sequential.Plan(p0=good / 100.0, p1=bad / 100.0)


def witness_of(control: Control, sheet: Sheet) -> Control | None:
    """The control that vouches for the hand: the button's twin, if the sheet names one that is a button too."""
    twin = next((c for c in sheet.controls if c.id == control.twin), None)
    return twin if twin is not None and twin.kind == "button" else None


def _closures(take: Take, control_id: str | None = None) -> Closures:
    signal = button_of(take, control_id)
    none = np.empty(0, dtype=np.int64)
    return Closures(none, none) if signal is None else closures(signal.t_ns, signal.closed, take.end_ns)


def _tally(take: Take) -> Tally:
    witness = None if take.witness is None else _closures(take, take.witness)
    return tally(_closures(take), witness, take.beats_ns, take.end_ns)


def _counted(beats: Tally) -> tuple[BeatPress, ...]:
    """The beats that count, in order, up to the first of which more may still come."""
    settled = next((i for i, b in enumerate(beats.beats) if not b.settled), len(beats.beats))
    return tuple(b for b in beats.beats[:settled] if b.state != "void")


def _to_go(plan: sequential.Plan, counted: tuple[BeatPress, ...]) -> int:
    """Presses until the test accepts if all of them are good, or until it stops."""
    return min(plan.presses_to_accept(sum(b.faulty for b in counted)), plan.stop_at) - len(counted)


def _readings(take: Take, beats: Tally) -> tuple[Reading, ...]:
    counted = _counted(beats)
    n = len(counted)
    missed = sum(b.state == "missed" for b in counted)
    slips = "" if beats.vouched else words.PRESS_NO_WITNESS
    if take.witness and not beats.vouched:
        slips = words.PRESS_IDLE_WITNESS
    upper = None if n == 0 else 100.0 * clopper_pearson(missed, n, CONFIDENCE, "upper")[1]
    late = words.PRESS_LATE.format(beats=some(beats.late, words.BEAT)) if beats.late else ""
    return (
        count("beats", n, n, late),
        count("registered", n - missed, n),
        count("missed", missed, n, slips),
        count("split", sum(b.state == "split" for b in counted), n, _blind_below(take, words.OPENING_BLIND)),
        count("short", sum(b.state == "short" for b in counted), n, _blind_below(take, words.CLOSURE_BLIND)),
        Reading("miss_rate_upper", upper, "%", n=n, reason="" if n else words.PRESS_NONE_COUNTED),
        _shortest(take, counted),
    )


def _rates(limits: Limits) -> tuple[Reading, ...]:
    """The two shares that the test told apart. It judges the presses in their order, so they are the limits of no
    reading; they go with the result, which they judged, wherever that goes."""
    good, bad = limits["light"]["faulty_rate"]
    return Reading("good_rate", good, "%"), Reading("bad_rate", bad, "%")


def _blind_below(take: Take, blind: tuple[str, str]) -> str:
    """What the link cannot show, in words: (period not known, shorter than the period). It is kept with the reading, so
    it is written in one style, whatever the screen's is."""
    period = poll_period_ns(take.report_t_ns)
    if period is None:
        return blind[0]
    if period < 2 * NS_PER_MS:
        return ""
    rate = figures.number(1e9 / period, 0, figures.PAPER)
    return blind[1].format(rate=rate, period=figures.number(period / NS_PER_MS, 0, figures.PAPER))


def _force(mass_g: float) -> Reading:
    return Reading(
        "force",
        weight_n(mass_g),
        "N",
        expanded(weight_uncertainty_n(mass_g)),
        reason=words.MASS.format(mass=figures.plain(mass_g, figures.PAPER)),
    )


def _shortest(take: Take, counted: tuple[BeatPress, ...]) -> Reading:
    closed = [b.closed_ns for b in counted if b.closures]
    if not closed:
        return Reading("shortest", None, "ms", reason=words.PRESS_NONE_REGISTERED)
    period = poll_period_ns(take.report_t_ns)
    uncertainty = 0.0 if period is None else expanded(duration(period / NS_PER_MS))
    reason = "" if period is not None else words.PRESS_PERIOD_UNKNOWN
    return Reading("shortest", min(closed) / NS_PER_MS, "ms", uncertainty, n=len(closed), reason=reason)
