"""Light press: does a button register every press that is only just hard enough?

The person presses lightly on each beat. Wald's sequential test decides from the presses in their order; the twin
control, pressed on the same beat, is the witness that tells a miss of the unit from a slip of the hand.
The same is done with normal and with firm presses where light ones fail, and with a known mass in the finger's place;
and with a fixed number of presses, the long form.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, fields, replace
from itertools import groupby
from types import MappingProxyType

import numpy as np

from station.checks.base import again, button_of, count, finding, spoken
from station.checks.decide import judged, outcome_of, worst
from station.checks.looked import Looked, Part, Spot
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
from station.checks.watched import goes_along
from station.measure import sequential
from station.measure.arrays import NS_PER_MS
from station.measure.beats import BeatPress, Tally, beat_interval_ns, tally
from station.measure.binomial import clopper_pearson
from station.measure.contacts import Closures, closures
from station.measure.force import weight_n, weight_uncertainty_n
from station.measure.lateness import lateness
from station.measure.period import link_period_ns, newest_of_bursts
from station.measure.shortest import shortest_uncertainty
from station.measure.uncertainty import expanded
from station.sheets.model import Control, Sheet
from station.words import checks as words
from station.words import figures, grammar, unseen
from station.words import looked as seen
from station.words.grammar import some

BEATS_PER_MINUTE = 120
LONG = "long_press"
LONG_PRESSES = 100
CONFIDENCE = 0.95
SELDOM = 50
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
    ReadingKind("force", words.PRESS_FORCE, "N", 2, unseen=unseen.PRESS_FORCE),
    ReadingKind("good_rate", words.PRESS_GOOD_RATE, "%", 2),
    ReadingKind("bad_rate", words.PRESS_BAD_RATE, "%", 2),
    ReadingKind("beats", words.PRESS_BEATS),
    ReadingKind("registered", words.PRESS_REGISTERED),
    ReadingKind("missed", words.PRESS_MISSED),
    ReadingKind("neither", words.PRESS_NEITHER),
    ReadingKind("split", words.PRESS_SPLIT, unseen=unseen.PRESS_TIMES),
    ReadingKind("short", words.PRESS_SHORT, unseen=unseen.PRESS_TIMES),
    ReadingKind("stays_closed", words.PRESS_STAYS_CLOSED, unseen=unseen.PRESS_STAYS),
    ReadingKind("longest_run", words.PRESS_LONGEST_RUN),
    ReadingKind("miss_rate_upper", words.PRESS_MISS_RATE_UPPER, "%", 1),
    ReadingKind("shortest", words.PRESS_SHORTEST, "ms", 1, unseen=unseen.PRESS_TIMES),
    ReadingKind("tries", words.PRESS_TRIES),
    ReadingKind("slips", words.PRESS_SLIPS),
)
_FAULTY = (("misses", "missed"), ("splits", "split"), ("shorts", "short"), ("stays_closed", "stays_closed"))
"""finding's code, and the reading that it counts"""
_SHOWN_FROM = {"neither": 1, "stays_closed": 1, "longest_run": 2, "tries": 2, "slips": 1}
"""readings that a running try shows only when there is something to say"""
ELSEWHERE_SHARE = 2
"""once one in so many beats finds another button pressed, the person presses the wrong one, or two lines are swapped"""
MOST_SLIPS = 0.15
"""a hand slips on no more of its beats; whoever missed more, the contact did (common practice, no source)"""
NEITHER = "neither"
"""the finding of a try that has to be done again without the twin"""


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
    FindingKind("stays_closed", words.STAYS_CLOSED, {"strength": shown_strength}),
    FindingKind(NEITHER, words.NEITHER),
)


def _describe(strength: PressStrength, long: bool) -> Description:
    plain_light = strength == "light" and not long
    return Description(
        kinds=("button",),
        together="twins" if plain_light else "",
        do_together=words.LIGHT_DO_TOGETHER,
        unseen=unseen.PRESSES,
        readings=tuple(replace(r, limit=r.name) if plain_light and r.name == "stays_closed" else r for r in _READINGS),
        findings=_FINDINGS,
        rates=("faulty_rate",) if plain_light else (),
        short=words.LONG_SHORT if long else _TITLES[strength][1],
        strength=None if long else strength,
        counts=True,
        pictures=("time",),
        looked=lambda take, limits: _looked(take),
    )


@dataclass(frozen=True, slots=True)
class Counts:
    """What became of the beats that count, over one try or several.

    `neither`: those that the witness did not register either. `slips`: beats besides these, on which the hand is known
    to have slipped: taken back, or pressed at another button.
    """

    beats: int = 0
    missed: int = 0
    neither: int = 0
    split: int = 0
    short: int = 0
    stays_closed: int = 0
    tries: int = 0
    slips: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(*(a + b for a, b in zip(astuple(self), astuple(other), strict=True)))

    def __sub__(self, other: Counts) -> Counts:
        return Counts(*(a - b for a, b in zip(astuple(self), astuple(other), strict=True)))

    @property
    def faulty(self) -> int:
        """Beats on which the button was at fault, whatever the hand did."""
        return self.missed + self.split + self.short + self.stays_closed

    @property
    def hard(self) -> tuple[int, int]:
        """(beats, faulty ones) of which no hand can be the cause."""
        return self.beats - self.neither, self.faulty - self.missed

    @property
    def sure(self) -> tuple[int, int]:
        """(beats, faulty ones) of those that were surely pressed."""
        return self.beats - self.neither, self.faulty

    @property
    def at_worst(self) -> tuple[int, int]:
        """(beats, faulty ones) if the button missed all that neither registered."""
        return self.beats, self.faulty + self.neither


_NOTHING = Counts()


class LightCheck:
    """A press for each beat until the sequential test has decided, at most 60 that count; or, `long`, 100 of them.

    `strength` says how hard; `mass_g` is the mass, in grams, that presses in the finger's place. `before`: what tries
    that this one goes on from came to; `begun`: of it, what a test that was broken off came to, which is carried on.
    `alone`: the twin is not pressed along; `with_twin` is what the try came to after which it was left out.
    `silent`: in a try before, the twin alone registered.
    """

    def __init__(
        self,
        strength: PressStrength = "light",
        mass_g: float | None = None,
        *,
        long: bool = False,
        before: Counts = _NOTHING,
        begun: Counts = _NOTHING,
        alone: bool = False,
        with_twin: Counts = _NOTHING,
        silent: bool = False,
    ) -> None:
        self.name = LONG if long else CHECK_OF[strength]
        self.title = words.LONG if long else _TITLES[strength][0]
        self.about = _describe(strength, long)
        self.strength = strength
        self.mass_g = mass_g
        self.long = long
        self.before = before
        self.begun = begun
        self.alone = alone
        self.with_twin = with_twin
        self.silent = silent

    def weighing(self, mass_g: float | None) -> LightCheck:
        """The same check with that mass in the finger's place; None: the finger."""
        return LightCheck(
            self.strength, mass_g, long=self.long, before=self.before, begun=self.begun, alone=self.alone,
            with_twin=self.with_twin, silent=self.silent,
        )  # fmt: skip

    def going_on(self, tries: Sequence[Assessment], limits: Limits) -> LightCheck:
        """The same check as it goes on from these tries, oldest first: their counts add up, and once too many beats
        were registered by neither the button nor its twin, the button is pressed alone.

        One that was ended before anything was decided is carried on: its presses need not be made again. Tries with
        another mass are left out, and so is one that was to be done again without the twin, or because the twin alone
        registered: nobody knows what it says.
        """
        force = None if self.mass_g is None else weight_n(self.mass_g)
        before = decided = with_twin = _NOTHING
        for done in tries:
            if _to_do_alone(done):
                decided = before  # what was pressed with the twin is not carried on without it
                with_twin = counts_of(done.readings)
            elif _silent(done):
                decided = before
            elif _force_in(done.readings) == force and (counts := counts_of(done.readings)).beats:
                before, decided = counts, decided if done.again else counts
        alone = any(map(_to_do_alone, tries))
        return LightCheck(
            self.strength, self.mass_g, long=self.long, before=before, begun=before - decided, alone=alone,
            with_twin=with_twin, silent=any(map(_silent, tries)),
        )  # fmt: skip

    def _plan(self, limits: Limits) -> sequential.Plan:
        """Where the button is pressed alone after a first look with its twin, either look may be wrong: the second one
        is so half as often, and has room for the presses that one fault takes then."""
        plan = plan_of(limits)
        if not self.alone:
            return plan
        return replace(plan, alpha=plan.alpha / 2, beta=plan.beta / 2, stop_at=round(1.1 * plan.stop_at))

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind == "button"

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        twin = None if control is None or self.alone else witness_of(control, sheet)
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
        return Prompt(self.title, do, f"{hint} {words.LONG_SEES}" if self.long else hint, BEATS_PER_MINUTE)

    def progress(self, take: Take, limits: Limits) -> Progress:
        plan, beats = self._plan(limits), _tally(take)
        counted, slips = _counted(beats), self._slips(take, beats)
        readings = self._readings(take, beats, limits)
        marks = {
            "beats": tuple((b.t_ns, b.state) for b in beats.beats),
            "answers": tuple(b for b in beats.beats if b.settled),
        }
        shown = tuple(r for r in readings if r.name not in _SHOWN_FROM or (r.value or 0) >= _SHOWN_FROM[r.name])
        if self._decided(plan, counted, slips) or outcome_of(readings) is Outcome.FAIL:
            return Progress(True, "", 1.0, shown, marks)
        left, made = self._to_go(plan, counted), self.begun.beats + len(counted)
        to_go = words.TO_GO.format(what=some(left, words.GOOD_PRESS))
        return Progress(False, to_go, made / (made + left), shown, marks)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        plan, beats = self._plan(limits), _tally(take)
        counted, slips = _counted(beats), self._slips(take, beats)
        readings = self._readings(take, beats, limits)
        if not beats.beats:
            return again(words.PRESS_NO_BEAT, readings)
        if ELSEWHERE_SHARE * beats.elsewhere > len(beats.beats):
            return again(words.PRESS_ELSEWHERE.format(who=spoken(take.control)), readings)
        if all(b.state == NEITHER for b in counted):
            return again(words.PRESS_UNSEEN.format(who=spoken(take.control)))
        decided = self._decided(plan, counted, slips)
        if decided == "reject" and beats.vouched and not self.silent and not len(_closures(take)):
            twin = next((c for c in take.sheet.controls if c.id == take.witness), None)
            return again(words.PRESS_TWIN_ONLY.format(twin=spoken(twin), who=spoken(take.control)), readings)
        by_counts = outcome_of(readings)  # of presses that stay closed
        if by_counts is not Outcome.FAIL:
            if not decided:
                presses = some(self._to_go(plan, counted), words.PRESS)
                return again(words.PRESS_MORE.format(presses=presses), readings)
            if decided == "alone":
                return self._again_alone(take, readings)
            if decided == "undecided":
                why = words.PRESS_UNDECIDED
                if slips and self._decided(plan, counted, 0.0) == "reject":
                    why = words.PRESS_HAND_SLIPS
                readings = tuple(replace(r, reason=why) if r.name == "registered" else r for r in readings)
        outcome = worst((by_counts, _OUTCOMES.get(decided, Outcome.PASS)))
        return Assessment(outcome, readings, () if outcome is Outcome.PASS else self._findings(take.control, readings))

    def _slips(self, take: Take, beats: Tally) -> float:
        """Share of beats on which this hand may have slipped without anybody's knowing it.

        Where nobody vouches for it: as large as that of the slips that are known, since a hand notices half of them at
        least (common practice, no source), or that of the beats that neither the button nor its twin registered while
        they were pressed together. The twin knows of all but a finger that was on the twin itself: as many as were on
        that other button on which it was most often.
        """
        beats_now = len(_counted(beats))
        known, of = beats.at_one, beats_now + beats.elsewhere
        if not beats.vouched:
            known = self.before.slips + take.taken_back + beats.elsewhere
            of = self.before.beats + beats_now + known
        shares = [known / of if of else 0.0]
        if self.alone and self.with_twin.beats:
            shares.append(self.with_twin.neither / self.with_twin.beats)
        return min(max(shares), MOST_SLIPS)

    def _decided(self, plan: sequential.Plan, counted: tuple[BeatPress, ...], slips: float) -> str:
        """ "reject", "accept", "undecided" (borderline) or "alone" (again, without the twin); "" while it goes on.

        It fails by the beats that were surely pressed, of which the hand may have missed that share. It passes only
        where it would if it had missed all that neither registered too, so that no twin can vouch it into a pass.
        """
        at_worst = [b.faulty or b.state == NEITHER for b in counted]
        sure = [b.faulty for b in counted if b.state != NEITHER]
        begun, before = self.begun, self.before - self.begun
        whole = LONG_PRESSES if self.long else plan.stop_at
        over = begun.beats + len(counted) >= whole
        presses = begun.sure[0] + len(sure) if over else whole
        fails = self._run(plan, before.sure, begun.sure, sure, presses)
        if fails == "reject" and slips:  # unless the hand may have missed that many
            hard = [b.faulty and b.state != "missed" for b in counted if b.state != NEITHER]
            by_contact = self._run(plan, before.hard, begun.hard, hard, presses)
            by_both = self._run(_by_such_a_hand(plan, slips), before.sure, begun.sure, sure, presses)
            fails = "reject" if "reject" in (by_contact, by_both) else "undecided"
        if fails == "reject":
            return "reject"
        if self._run(plan, before.at_worst, begun.at_worst, at_worst, whole) == "accept":
            return "accept"
        neither = [b.state == NEITHER for b in counted]
        if sequential.run(plan, neither, (begun.beats, begun.neither))[0] == "reject":
            return "alone"
        if not over:
            return ""
        return "alone" if fails == "accept" else "undecided"

    def _run(
        self,
        plan: sequential.Plan,
        before: tuple[int, int],
        begun: tuple[int, int],
        faulty: Sequence[bool],
        presses: int,
    ) -> str:
        if self.long:
            all_before = before[0] + begun[0], before[1] + begun[1]
            return sequential.run_fixed(plan, all_before, faulty, presses - begun[0])[0]
        return sequential.run_on(plan, before, faulty, begun)[0]

    def _to_go(self, plan: sequential.Plan, counted: tuple[BeatPress, ...]) -> int:
        """Presses until it passes if all of them are good, or until it stops; at least one."""
        made = self.begun.beats + len(counted)
        if self.long:
            return max(1, LONG_PRESSES - made)
        own = self.begun.at_worst[1] + sum(b.faulty or b.state == NEITHER for b in counted)
        beats, faulty = (self.before - self.begun).at_worst
        needed = max(plan.presses_to_accept(own), plan.presses_to_accept(own + faulty) - beats)
        return max(1, min(needed, plan.stop_at) - made)

    def _again_alone(self, take: Take, readings: tuple[Reading, ...]) -> Assessment:
        counts = counts_of(readings)
        twin = next((c for c in take.sheet.controls if c.id == take.witness), None)
        said = again(words.PRESS_ALONE.format(who=spoken(take.control), twin=spoken(twin)), readings)
        params = {"faulty": counts.neither, "counted": counts.beats}
        return replace(said, findings=(finding(NEITHER, take.control, params),))

    def _readings(self, take: Take, beats: Tally, limits: Limits) -> tuple[Reading, ...]:
        force = () if self.mass_g is None else (_force(self.mass_g),)
        return judged("light", (*force, *_readings(take, beats, self.before), *_rates(limits)), limits)

    def _findings(self, control: Control | None, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
        values = {r.name: round(r.value or 0.0) for r in readings}
        return tuple(
            finding(code, control, {"strength": self.strength, "faulty": values[name], "counted": values["beats"]})
            for code, name in _FAULTY
            if values[name]
        )


HARDER: Mapping[str, LightCheck] = MappingProxyType({CHECK_OF[s]: LightCheck(s) for s in STRENGTHS if s != "light"})
"""name → check: the same with harder presses, done where light ones fail or where the person asks for it"""
ON_REQUEST: Mapping[str, LightCheck] = MappingProxyType({**HARDER, LONG: LightCheck(long=True)})
"""name → check: the presses that no plan has"""


def plan_of(limits: Limits) -> sequential.Plan:
    """Wald's plan with the good and the bad share of faulty presses from the limits (`light.faulty_rate`, %)."""
    good, bad = limits["light"]["faulty_rate"]
    return sequential.Plan(p0=good / 100.0, p1=bad / 100.0)


def witness_of(control: Control, sheet: Sheet) -> Control | None:
    """The control that vouches for the hand: the button's twin, if the sheet names one that is a button too."""
    twin = next((c for c in sheet.controls if c.id == control.twin), None)
    return twin if twin is not None and twin.kind == "button" else None


def _closures(take: Take, control_id: str | None = None) -> Closures:
    """Of reports that go out in bursts the last of each tells the state at that moment: what it tells of the polls
    before would else last as long as the wait between two bursts."""
    signal = button_of(take, control_id)
    none = np.empty(0, dtype=np.int64)
    if signal is None:
        return Closures(none, none)
    newest = newest_of_bursts(signal.t_ns, take.report_t_ns)
    return closures(signal.t_ns[newest], signal.closed[newest], take.end_ns)


def _by_such_a_hand(plan: sequential.Plan, slips: float) -> sequential.Plan:
    """The same test where the hand, too, leaves out that share of the presses: the good and the bad share are those of
    the button on top of it."""
    return replace(plan, p0=plan.p0 + slips, p1=plan.p1 + slips) if slips else plan


def _tally(take: Take) -> Tally:
    witness = None if take.witness is None else _closures(take, take.witness)
    others = [_closures(take, c.id) for c in take.sheet.controls if _may_be_mistaken(c, take)]
    return tally(_closures(take), witness, take.beats_ns, take.end_ns, others)


_SEEN_AS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "missed": ("misses", seen.BEAT_MISSED),
        "split": ("splits", seen.BEAT_SPLIT),
        "short": ("shorts", seen.BEAT_SHORT),
        "stays": ("stays_closed", seen.BEAT_STAYS),
        NEITHER: (NEITHER, seen.BEAT_NEITHER),
    }
)
"""state of a beat → the finding that counts it, and what is said of it"""


def _looked(take: Take) -> Looked:
    """The beats: what became of each; those that are void are left out."""
    beats = _tally(take)
    half = beat_interval_ns([b.t_ns for b in beats.beats]) // 2
    parts, spots = [], []
    for k, beat in enumerate(beats.beats):
        begin = beat.t_ns + beats.offset_ns - half
        why = (seen.BEAT_TOO_EARLY if k < beats.late else seen.BEAT_BESIDE) if beat.state == "void" else ""
        parts.append(Part(max(begin, take.begin_ns), min(begin + 2 * half, take.end_ns), why))
        code, text = _SEEN_AS.get(beat.state, ("beat", why or seen.BEAT_ANSWERED))
        end = beat.t_ns + (beat.delay_ns or 0) + beat.closed_ns
        spots.append(Spot(code, text, beat.t_ns, max(end, beat.t_ns), faulty=beat.faulty or beat.state == NEITHER))
    return Looked(tuple(parts), tuple(spots))


def _may_be_mistaken(other: Control, take: Take) -> bool:
    """Whether a finger on it was in the wrong place."""
    own = take.control
    if own is None or other.kind != "button" or other.id == take.witness or other.seen_as is not None:
        return False
    return other.id in take.signals and not goes_along(own, other, take.sheet)


def _counted(beats: Tally) -> tuple[BeatPress, ...]:
    """The beats that count, in order, up to the first of which more may still come."""
    settled = next((i for i, b in enumerate(beats.beats) if not b.settled), len(beats.beats))
    return tuple(b for b in beats.beats[:settled] if b.state != "void")


def counts_of(readings: Sequence[Reading]) -> Counts:
    """The counts that the readings of a press tell; nothing for those of any other check."""
    found = {r.name: round(r.value) for r in readings if r.value is not None}
    if "beats" not in found:
        return _NOTHING
    return Counts(**{f.name: found.get(f.name, 1 if f.name == "tries" else 0) for f in fields(Counts)})


def _to_do_alone(done: Assessment) -> bool:
    return any(f.code == NEITHER for f in done.findings)


def _silent(done: Assessment) -> bool:
    """Whether a try has to be done again because the twin alone registered: two misses and nothing else fail else."""
    counts = counts_of(done.readings)
    return bool(done.again) and counts.missed > 1 and counts.missed == counts.beats


def _force_in(readings: Sequence[Reading]) -> float | None:
    """The force of the mass that pressed, N; None: a finger's."""
    return next((r.value for r in readings if r.name == "force"), None)


def _own(counted: tuple[BeatPress, ...], slips: int) -> Counts:
    states: list[str] = [b.state for b in counted]
    return Counts(
        len(states),
        states.count("missed"),
        states.count(NEITHER),
        states.count("split"),
        states.count("short"),
        states.count("stays"),
        tries=1,
        slips=slips,
    )


def _readings(take: Take, beats: Tally, before: Counts) -> tuple[Reading, ...]:
    counted = _counted(beats)
    now = before + _own(counted, take.taken_back + beats.elsewhere)
    n = now.beats
    slips = "" if beats.vouched else words.PRESS_NO_WITNESS
    if take.witness and not beats.vouched:
        slips = words.PRESS_IDLE_WITNESS
    unseen = now.missed + now.neither
    upper = None if n == 0 else 100.0 * clopper_pearson(unseen, n, CONFIDENCE, "upper")[1]
    left_out = [(beats.late, words.PRESS_LATE), (beats.elsewhere, words.PRESS_BESIDE)]
    late = grammar.COMMA.join(text.format(beats=some(number, words.BEAT)) for number, text in left_out if number)
    return (
        count("beats", n, n, late),
        count("registered", n - unseen, n),
        count("missed", now.missed, n, slips),
        count("neither", now.neither, n),
        count("split", now.split, n, _blind_below(take, words.OPENING_BLIND)),
        count("short", now.short, n, _blind_below(take, words.CLOSURE_BLIND)),
        count("stays_closed", now.stays_closed, n, _seldom_seen(n)),
        count("longest_run", _longest_run(counted), len(counted)),
        Reading("miss_rate_upper", upper, "%", n=n, reason="" if n else words.PRESS_NONE_COUNTED),
        _shortest(take, counted),
        count("tries", now.tries),
        count("slips", now.slips),
    )


def _seldom_seen(n: int) -> str:
    """How often so many presses show what comes once in `SELDOM`: 1 − (1 − 1/50)ⁿ. It is kept with the reading."""
    share = 100.0 * (1.0 - (1.0 - 1.0 / SELDOM) ** n)
    return words.PRESS_SELDOM.format(seldom=SELDOM, share=figures.number(share, 0, figures.PAPER)) if n else ""


def _longest_run(counted: tuple[BeatPress, ...]) -> int:
    """The most faulty beats in a row, those that neither registered among them."""
    flags = (b.faulty or b.state == NEITHER for b in counted)
    return max((sum(1 for _ in run) for faulty, run in groupby(flags) if faulty), default=0)


def _rates(limits: Limits) -> tuple[Reading, ...]:
    """The two shares that the test told apart. It judges the presses in their order, so they are the limits of no
    reading; they go with the result, which they judged, wherever that goes."""
    good, bad = limits["light"]["faulty_rate"]
    return Reading("good_rate", good, "%"), Reading("bad_rate", bad, "%")


def _blind_below(take: Take, blind: tuple[str, str]) -> str:
    """What the link cannot show, in words: (period not known, shorter than the period). It is kept with the reading, so
    it is written in one style, whatever the screen's is."""
    period = link_period_ns(take.report_t_ns)
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
    late = lateness(take.report_t_ns)
    if late is None or not late.enough:
        return Reading("shortest", min(closed) / NS_PER_MS, "ms", n=len(closed), reason=words.PRESS_PERIOD_UNKNOWN)
    by_polls = shortest_uncertainty(np.array(closed) / NS_PER_MS, late.period_ns / NS_PER_MS)
    by_delay = expanded(math.sqrt(2.0) * late.delay_ns / NS_PER_MS)
    return Reading("shortest", min(closed) / NS_PER_MS, "ms", math.hypot(by_polls, by_delay), n=len(closed))
