"""Light press: does a button register every press that is only just hard enough?

The person presses lightly on each beat. Wald's sequential test decides from the presses in their order; the twin
control, pressed on the same beat, is the witness that tells a miss of the unit from a slip of the hand.
The same is done with normal and with firm presses where light ones fail, and with a known mass in the finger's place.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from station.checks.base import again, button_of, count, some, spoken
from station.checks.limits import limit_in_force
from station.checks.strengths import CHECK_OF, STRENGTHS, PressStrength
from station.checks.types import Assessment, DueAfter, Finding, Limits, Outcome, Progress, Prompt, Reading, Take
from station.measure import sequential
from station.measure.arrays import NS_PER_MS
from station.measure.beats import BeatPress, Tally, tally
from station.measure.binomial import clopper_pearson
from station.measure.contacts import Closures, closures, poll_period_ns
from station.measure.force import weight_n, weight_uncertainty_n
from station.measure.uncertainty import duration, expanded
from station.sheets.model import Control, Sheet

BEATS_PER_MINUTE = 120
CONFIDENCE = 0.95
_OUTCOMES = {
    "accept": Outcome.PASS,
    "reject": Outcome.FAIL,
    "undecided": Outcome.BORDERLINE,
}


_HOW: Mapping[PressStrength, tuple[str, str]] = MappingProxyType(
    {
        "light": ("lightly", "Only just hard enough."),
        "normal": ("as in play", "As hard as in play, no harder."),
        "firm": ("firmly", "Well beyond the click, no harder than a thumb likes."),
    }
)
"""strength → how to press, and how hard that is"""


class LightCheck:
    """A press for each beat until the sequential test has decided, at most 60 that count.

    `strength` says how hard; `mass_g` is the mass, in grams, that presses in the finger's place.
    """

    due_after: DueAfter = "its control"

    def __init__(self, strength: PressStrength = "light", mass_g: float | None = None) -> None:
        self.name = CHECK_OF[strength]
        self.title = f"{strength.capitalize()} press"
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
        how, hard = _HOW[self.strength]
        tail = "No other button can vouch for you: take a beat back if you slipped."
        if twin is not None:
            tail = "A beat that both miss does not count."
        if self.mass_g is not None:
            along = "" if twin is None else f", and press {spoken(twin)} with it"
            do = f"Set the mass of {self.mass_g:g} g on {who}{along}, on each beat; lift it again."
            return Prompt(self.title, do, f"Set it down softly, do not drop it. {tail}", BEATS_PER_MINUTE)
        do = f"Press {who} {how} on each beat."
        if twin is not None:
            do = f"Press {who} and {spoken(twin)} together, {how}, on each beat."
        return Prompt(self.title, do, f"{hard} {tail}", BEATS_PER_MINUTE)

    def progress(self, take: Take, limits: Limits) -> Progress:
        plan, beats = plan_of(limits), _tally(take)
        counted = _counted(beats)
        verdict, _ = sequential.run(plan, [b.faulty for b in counted])
        readings = self._readings(take, beats)
        marks = {"beats": tuple((b.t_ns, b.state) for b in beats.beats)}
        if verdict != "undecided" or len(counted) >= plan.stop_at:
            return Progress(True, "", 1.0, readings, marks)
        left = _to_go(plan, counted)
        return Progress(
            False, f"{some(left, 'good press')} to go", len(counted) / (len(counted) + left), readings, marks
        )

    def assess(self, take: Take, limits: Limits) -> Assessment:
        plan, beats = plan_of(limits), _tally(take)
        counted = _counted(beats)
        readings = self._readings(take, beats)
        who = spoken(take.control)
        if not beats.beats:
            return again("no beat was given", readings)
        if not counted:
            return again(f"no press of {who} seen on a beat", readings)
        verdict, _ = sequential.run(plan, [b.faulty for b in counted])
        if verdict == "undecided" and len(counted) < plan.stop_at:
            return again(f"{some(_to_go(plan, counted), 'press')} more", readings)
        outcome = _OUTCOMES[verdict]
        return Assessment(outcome, readings, () if outcome is Outcome.PASS else self._findings(who, counted))

    def _readings(self, take: Take, beats: Tally) -> tuple[Reading, ...]:
        force = () if self.mass_g is None else (_force(self.mass_g),)
        return (*force, *_readings(take, beats))

    def _findings(self, who: str, counted: tuple[BeatPress, ...]) -> tuple[Finding, ...]:
        words = (
            ("misses", "missed", f"misses {self.strength} presses"),
            ("splits", "split", f"{self.strength} presses break up"),
            ("shorts", "short", f"{self.strength} presses close only for a moment"),
        )
        found = []
        for code, state, text in words:
            k = sum(b.state == state for b in counted)
            if k:
                found.append(Finding(code, f"{who}: {text}, {k} of {len(counted)}"))
        return tuple(found)


HARDER: Mapping[str, LightCheck] = MappingProxyType({CHECK_OF[s]: LightCheck(s) for s in STRENGTHS if s != "light"})
"""name → check: the same with harder presses, done where light ones fail or where the person asks for it"""


def plan_of(limits: Limits) -> sequential.Plan:
    """Wald's plan with the good and the bad share of faulty presses from the limits (`light.faulty_rate`, %)."""
    good, bad = limit_in_force(limits, "light", "faulty_rate")
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
    slips = "" if beats.vouched else "without a witness a slip of the hand counts as a miss"
    if take.witness and not beats.vouched:
        slips = "the witness was hardly pressed, so a slip of the hand counts as a miss"
    upper = None if n == 0 else 100.0 * clopper_pearson(missed, n, CONFIDENCE, "upper")[1]
    late = f"{some(beats.late, 'beat')} before the first press left out" if beats.late else ""
    return (
        count("beats", n, n, late),
        count("registered", n - missed, n),
        count("missed", missed, n, slips),
        count("split", sum(b.state == "split" for b in counted), n, _blind_below(take, "an opening")),
        count("short", sum(b.state == "short" for b in counted), n, _blind_below(take, "a contact")),
        Reading("miss_rate_upper", upper, "%", n=n, reason="" if n else "no press counted yet"),
        _shortest(take, counted),
    )


def _blind_below(take: Take, what: str) -> str:
    """What the link cannot show, in words."""
    period = poll_period_ns(take.report_t_ns)
    if period is None:
        return f"the reports do not show how finely the link looks; {what} shorter than its period can go unseen"
    if period < 2 * NS_PER_MS:
        return ""
    return f"at {1e9 / period:.0f} reports a second {what} shorter than {period / NS_PER_MS:.0f} ms can go unseen"


def _force(mass_g: float) -> Reading:
    return Reading("force", weight_n(mass_g), "N", expanded(weight_uncertainty_n(mass_g)), reason=f"{mass_g:g} g")


def _shortest(take: Take, counted: tuple[BeatPress, ...]) -> Reading:
    closed = [b.closed_ns for b in counted if b.closures]
    if not closed:
        return Reading("shortest", None, "ms", reason="no press registered yet")
    period = poll_period_ns(take.report_t_ns)
    uncertainty = 0.0 if period is None else expanded(duration(period / NS_PER_MS))
    reason = "" if period is not None else "uncertainty not known: the reports do not show the link's period"
    return Reading("shortest", min(closed) / NS_PER_MS, "ms", uncertainty, n=len(closed), reason=reason)
