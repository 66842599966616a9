"""A glance: one free run over a control, any movement in any order; what is surely bad, and what needs its full check.

It shows the full checks what the hand happened to do and takes over what they say, with two differences. It asks for
less. And only what lies beyond the limit "fail beyond" by its uncertainty fails here; what lies outside its limit by
its uncertainty needs the full check. It is no test: `station.judgement` never counts it as one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from station.checks.axes import never_reported, stick_signal, waiting
from station.checks.base import again, count, finding, in_a_row, spoken
from station.checks.contact import ContactCheck, presses_of, released, stuck
from station.checks.decide import out_of_limit
from station.checks.glance_button import Pressed, pressed_freely
from station.checks.glance_stick import Freely, deflections, freely, hands_off
from station.checks.hat import HatCheck
from station.checks.letgo import LetGo
from station.checks.light import LightCheck
from station.checks.looks import GLANCE
from station.checks.rest import Rest
from station.checks.rim import Rim
from station.checks.sweep import Sweep
from station.checks.travel import Travel
from station.checks.trigger import Trigger
from station.checks.types import (
    Assessment,
    Check,
    Description,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    ParamValue,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.measure.states import PROGRESS_POINTS, thin
from station.sheets.model import Control, Sheet
from station.sheets.signals import StickSignal
from station.words import checks as words
from station.words import unseen
from station.words.figures import Style
from station.words.grammar import some

PRESSES = 5
PULLS, CROSSINGS, TURNS = 2, 2, 0.9
SURE_PRESSES = 2
"""so many presses that break up or are short fail; one of five may be a finger that slipped"""

_CONTACT, _HAT, _TRIGGER = ContactCheck(), HatCheck(), Trigger(PULLS)
_REST, _LETGO, _TRAVEL, _RIM, _SWEEP = Rest(), LetGo(once_more=False), Travel(), Rim(TURNS), Sweep(CROSSINGS)
_FULL: tuple[Check, ...] = (_CONTACT, _HAT, _TRIGGER, _REST, _LETGO, _TRAVEL, _RIM, _SWEEP)
_TITLES = {check.name: check.title for check in (*_FULL, LightCheck())}
_PRESS_FINDINGS = ("splits", "shorts")


def _titles(names: ParamValue, style: Style | None = None) -> str:
    """Names of checks as their titles, one after the other."""
    return in_a_row(tuple(_TITLES.get(n, n) for n in names) if isinstance(names, tuple) else names, style)


def _readings_of(checks: Iterable[Check]) -> tuple[ReadingKind, ...]:
    """Those of the full checks, each name once, only reported."""
    kinds: dict[str, ReadingKind] = {}
    for check in checks:
        for kind in check.about.readings:
            if check is not _CONTACT or kind.name == "others":
                kinds.setdefault(kind.name, replace(kind, limit="", sheet_limit="", shipped=None, unseen=""))
    return tuple(kinds.values())


def _findings_of(checks: Iterable[Check]) -> tuple[FindingKind, ...]:
    return tuple({kind.code: kind for check in checks for kind in check.about.findings}.values())


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a full check says of what it was shown."""

    check: str
    said: Assessment

    @property
    def sure(self) -> bool:
        """It fails clearly: beyond the fail limit by the uncertainty, or by what no reading tells."""
        if self.said.again or self.said.outcome is not Outcome.FAIL:
            return False
        surely = any(_beyond(r, r.fail_beyond) for r in self.said.readings)
        return surely or not any(map(out_of_limit, self.said.readings))

    @property
    def doubtful(self) -> bool:
        """It does not fail clearly, and something lies outside its limit by more than it is uncertain; a count, which
        is of fewer here, beyond its fail limit."""
        if self.said.again or self.sure:
            return False
        return any(_beyond(r, r.limit if r.uncertainty > 0.0 else r.fail_beyond) for r in self.said.readings)


def _beyond(reading: Reading, limit: float | None) -> bool:
    """Whether the reading lies beyond one of its limits by more than its uncertainty."""
    if reading.value is None or limit is None:
        return False
    way = 1.0 if reading.rule == "<=" else -1.0
    return way * (reading.value - limit) > reading.uncertainty


class Glance:
    """One free run over each control; done on all of them at once."""

    name = GLANCE
    title = words.GLANCE
    about = Description(
        kinds=("button", "stick", "trigger", "hat"),
        grip="everywhere",
        together="all",
        do_together=words.GLANCE_DO_TOGETHER,
        unseen=unseen.GLANCE,
        readings=(
            *_readings_of(_FULL),
            ReadingKind("presses", words.GLANCE_PRESSES),
            *(replace(kind, unseen="") for kind in LightCheck().about.readings if kind.name in ("split", "short")),
            ReadingKind("rhythm_gaps", words.GLANCE_GAPS),
        ),
        findings=(
            *_findings_of(_FULL),
            *(kind for kind in LightCheck().about.findings if kind.code in _PRESS_FINDINGS),
            FindingKind("unclear", words.GLANCE_UNCLEAR, {"checks": _titles}),
        ),
        first_look=True,
        works_all=True,
        followed_by=("link",),
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is not None and control.kind in self.about.kinds

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        do = words.GLANCE_DO.get(control.kind if control else "button", words.GLANCE_DO["button"])
        return Prompt(self.title, do.format(who=spoken(control)), words.GLANCE_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        kind = take.control.kind if take.control else ""
        if kind == "stick":
            return _stick_progress(take, limits)
        if kind == "trigger":
            return _TRIGGER.progress(take, limits)
        return _HAT.progress(take, limits) if kind == "hat" else _button_progress(take)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        kind = take.control.kind if take.control else ""
        if kind == "button":
            return _button(take, limits)
        if kind == "stick":
            signal = stick_signal(take)
            return never_reported(take.control) if signal is None else _stick(take, signal, limits)
        check: Check = _TRIGGER if kind == "trigger" else _HAT
        return _come_to(take.control, (_Seen(check.name, check.assess(take, limits)),))


def _come_to(control: Control | None, seen: Sequence[_Seen], more: Sequence[Reading] = ()) -> Assessment:
    """One assessment of all that the full checks said.

    What is surely bad counts even where something was not looked at; else that comes first.
    """
    sure = [one for one in seen if one.sure]
    doubtful = tuple(one.check for one in seen if one.doubtful)
    readings = (*(_plain(r) for one in seen for r in one.said.readings), *more)
    missing = next((one for one in seen if one.said.again), None)
    if missing is not None and not sure:
        return replace(missing.said, readings=readings)
    found: list[Finding] = [f for one in sure for f in one.said.findings]
    if doubtful:
        found.append(finding("unclear", control, {"checks": doubtful}))
    outcome = Outcome.FAIL if sure else Outcome.BORDERLINE if doubtful else Outcome.PASS
    return Assessment(outcome, readings, tuple(dict.fromkeys(found)))


def _plain(reading: Reading) -> Reading:
    """Only reported: a glance does not judge a reading by the limits of the full check."""
    return replace(reading, limit=None, fail_beyond=None, rule="<=")


# --- sticks -----------------------------------------------------------------------------------------------


def _stick(take: Take, signal: StickSignal, limits: Limits) -> Assessment:
    parts = freely(take, signal)
    seen = [_Seen(check.name, check.assess(shown, limits)) for check, shown in _shown(parts)]
    return _come_to(take.control, (_rested(parts, limits), *seen))


def _shown(parts: Freely) -> tuple[tuple[Check, Take], ...]:
    returns, crossings = LetGo(once_more=False, led=parts.led), Sweep(CROSSINGS, parts.across)
    return (returns, parts.returns), (_TRAVEL, parts.pushes), (_RIM, parts.rolls), (crossings, parts.crossings)


def _rested(parts: Freely, limits: Limits) -> _Seen:
    """The first stretch of hands off that *at rest* takes for one; where it takes none, the last."""
    said = again(words.REST_LAY_DOWN)
    for shown in parts.rests:
        said = _REST.assess(shown, limits)
        if not said.again:
            break
    return _Seen(_REST.name, said)


def _stick_progress(take: Take, limits: Limits) -> Progress:
    signal = stick_signal(take)
    if signal is None:
        return waiting()
    keep = thin(len(signal.t_ns), PROGRESS_POINTS)
    few = replace(
        signal,
        t_ns=signal.t_ns[keep],
        x_pct=signal.x_pct[keep],
        y_pct=signal.y_pct[keep],
        x_code=signal.x_code[keep],
        y_code=signal.y_code[keep],
    )
    parts = freely(take, few)
    done = [(check, check.progress(shown, limits)) for check, shown in _shown(parts)]
    off = bool(hands_off(take, few, deflections(few)))
    missing = [words.GLANCE_MISSING[check.name] for check, one in done if not one.complete]
    missing += [] if off else [words.GLANCE_MISSING[_REST.name]]
    moved = max(one.share for _, one in done)
    share = (sum(one.share for _, one in done) + off) / (len(done) + 1) if moved > 0.0 else 0.0
    marks = {name: mark for _, one in done for name, mark in one.marks.items() if name in ("sectors", "sector_reach")}
    return Progress(not missing, missing[0] if missing else "", share, marks=marks)


# --- buttons ----------------------------------------------------------------------------------------------


def _button_progress(take: Take) -> Progress:
    pressed = presses_of(take)
    done = released(pressed)
    if stuck(pressed, take):
        return Progress(False, words.CONTACT_CLOSED, 0.5)
    if done >= PRESSES:
        return Progress(True, "", 1.0)
    if len(pressed) == 0:
        return Progress(False, words.NO_PRESS_YET, 0.0)
    if pressed.held_after:
        return Progress(False, words.LET_GO, (done + 0.5) / PRESSES)
    return Progress(False, words.TO_GO.format(what=some(PRESSES - done, words.PRESS)), done / PRESSES)


def _button(take: Take, limits: Limits) -> Assessment:
    contact = _CONTACT.assess(take, limits)
    one = pressed_freely(take)
    kept = tuple(r for r in contact.readings if r.name == "others")
    if contact.again:
        return replace(contact, readings=tuple(map(_plain, kept)))
    if contact.outcome is not Outcome.FAIL and one.presses < PRESSES:
        return again(words.TO_GO.format(what=some(PRESSES - one.presses, words.PRESS)))
    said = _come_to(take.control, (_Seen(_CONTACT.name, contact),), _press_readings(one))
    said = replace(said, readings=tuple(r for r in said.readings if r.name not in ("registered", "released")))
    return _with_presses(said, one, take.control)


def _with_presses(said: Assessment, one: Pressed, control: Control | None) -> Assessment:
    """With what the presses themselves show; a gap in the rhythm may be a pause, so it never fails."""
    faulty = one.split + one.short
    if faulty >= SURE_PRESSES:
        counts = {"splits": one.split, "shorts": one.short}
        more = tuple(
            finding(code, control, {"strength": "light", "faulty": n, "counted": one.presses})
            for code, n in counts.items()
            if n
        )
        return replace(said, outcome=Outcome.FAIL, findings=(*said.findings, *more))
    if (faulty or one.gaps or one.late) and said.outcome is not Outcome.FAIL:
        unclear = finding("unclear", control, {"checks": ("light",)})
        return replace(said, outcome=Outcome.BORDERLINE, findings=(*said.findings, unclear))
    return said


def not_seen(control: Control, readings: Sequence[Reading]) -> Assessment:
    """What a look comes to where a person says that the control was pressed and did not come: however often it comes
    afterwards, it needs its full check. `readings`: those of the try so far."""
    return Assessment(Outcome.BORDERLINE, tuple(readings), (finding("unclear", control, {"checks": ("light",)}),))


def _press_readings(one: Pressed) -> tuple[Reading, ...]:
    counted = (("presses", one.presses), ("split", one.split), ("short", one.short), ("rhythm_gaps", one.gaps))
    return tuple(count(name, n, one.presses) for name, n in counted)
