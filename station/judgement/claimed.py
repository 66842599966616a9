"""What the seller claimed, held against what was found: confirmed, not found, something else.

A claim stays the text that somebody wrote. It is bound to controls by their names in the model sheet, or by the words
that sellers use for them, and to a kind of complaint by the beginnings of its words. What the unit was when it came is
judged: the tries from before the first treatment.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from station.checks.looks import GLANCE
from station.checks.types import Assessment, Outcome
from station.judgement.tries import VERDICTS, Key, counted, verdicts
from station.records.types import Result, UnitHistory
from station.sheets.model import Sheet
from station.words import claims as words

CONFIRMED, NOT_FOUND, SOMETHING_ELSE, OPEN = "confirmed", "not found", "something else", "open"
_PRESSES = ("contact", "light", "long_press", "normal_press", "firm_press", "together", "glance")
CHECKS: Mapping[str, tuple[str, ...]] = {
    "drift": ("rest", "letgo", "hold", "alone", "glance"),
    "jitter": ("rest", "hold", "sweep", "travel", "trigger", "alone", "glance"),
    "reach": ("rim", "travel", "sweep", "trigger"),
    "slow": ("letgo", "sweep", "travel", "trigger", "link"),
    "double": _PRESSES,
    "dead": (*_PRESSES, "hat", "travel", "trigger", "rim", "sweep"),
    "stuck": (*_PRESSES, "rest", "letgo", "hat", "travel", "trigger"),
    "link": ("link", "quiet"),
    "charge": ("charge", "battery", "cell_under_load"),
    "rumble": ("rumble",),
    "looks": ("look",),
}
"""kind of complaint → the checks that can show it (customary, no published source); of "any" and "power" every one"""
_GLANCED = frozenset(("contact", "light", "hat", "trigger", "rest", "letgo", "travel", "rim", "sweep"))
"""the full checks that a glance shows what the hand did"""
LookState = Literal["", "found", "not found", "something else", "unclear"]
UNTESTABLE = ("power",)
"""what cannot be found in a unit that is tested: it turned on"""


@dataclass(frozen=True, slots=True)
class Understood:
    """A claim as it is understood. `controls`: ids of those it is about, none: of no one; `complaint`: one of
    words.STEMS, "" if it says nothing that is known."""

    controls: tuple[str, ...] = ()
    complaint: str = ""


def understood(text: str, sheet: Sheet) -> Understood:
    """What the claim is about. A control that the sheet does not have is bound by the words of the trade alone."""
    said = re.sub(words.BOTH_SIDES, words.BOTH_SIDES_AS, _plain(text))
    return Understood(_controls_in(said, sheet), _complaint_in(said))


def parts_of(text: str, sheet: Sheet) -> tuple[Understood, ...]:
    """The complaints of a claim, each with what it is about: “left stick drifts, right trigger sticks” are two. One
    alone where not every part names a control and a complaint of its own."""
    parts = [understood(part, sheet) for part in re.split(words.PARTED_BY, text) if part.strip()]
    if len(parts) > 1 and all(part.controls and part.complaint for part in parts):
        return tuple(parts)
    return (understood(text, sheet),)


def names_of(sheet: Sheet) -> dict[str, tuple[str, ...]]:
    """Id of a control → what it is called, in small letters: its name, its id, and words of the trade."""
    ids = dict.fromkeys((*(c.id for c in sheet.controls), *words.CONTROLS))
    named = {c.id: (_plain(c.name), _plain(c.id)) for c in sheet.controls}
    return {i: tuple(dict.fromkeys((*named.get(i, ()), *words.CONTROLS.get(i, ())))) for i in ids}


def short_names_of(sheet: Sheet) -> dict[str, tuple[str, ...]]:
    """The same with the initials of each control's name, where they are no other's: ls, rt, sb."""
    names = names_of(sheet)
    initials: dict[str, list[str]] = {}
    for control, called in names.items():
        if called and " " in called[0]:
            initials.setdefault("".join(word[0] for word in called[0].split()), []).append(control)
    own = {ids[0]: letters for letters, ids in initials.items() if len(ids) == 1}
    taken = {name for called in names.values() for name in called}
    return {i: (*called, *((own[i],) if i in own and own[i] not in taken else ())) for i, called in names.items()}


def lengthened(text: str, sheet: Sheet) -> str:
    """A claim that was typed short, in full: "ls dr" → "Left stick drifts". Any other text as it is."""
    first, _, rest = _plain(text).partition(" ")
    if not rest:
        return text.strip()
    controls = [i for i, called in short_names_of(sheet).items() if first in called]
    told = len(rest) > 1
    complaints = {k for k, said in words.SHORT.items() if told and (said.startswith(rest) or k.startswith(rest))}
    if len(controls) != 1 or len(complaints) != 1:
        return text.strip()
    name = next((c.name for c in sheet.controls if c.id == controls[0]), words.CONTROLS.get(controls[0], ("",))[0])
    return words.CLAIM.format(control=name[:1].upper() + name[1:], complaint=words.SHORT[complaints.pop()])


def judged(history: UnitHistory, sheet: Sheet) -> str:
    """One of CLAIM_STATES: what the results say of the claim. Open while they say nothing: no claim, one that nobody
    understands, nothing tested that could show it, or borderline there."""
    claim = history.unit.claim
    if not claim.strip():
        return OPEN
    until = min((t.order for t in history.treatments), default="~")
    found = verdicts(r for r in history.results if r.order <= until)
    states = {_state(found, said) for said in parts_of(claim, sheet)}
    return next(state for state in (CONFIRMED, OPEN, SOMETHING_ELSE, NOT_FOUND) if state in states)


def _state(found: Mapping[Key, Result], said: Understood) -> str:
    """What the verdicts say of one complaint."""
    if not said.complaint and not said.controls:
        return OPEN
    about = {key: r.assessment.outcome for key, r in found.items() if _is_about(key, said)}
    failed = [key for key, r in found.items() if r.assessment.outcome is Outcome.FAIL]
    if Outcome.FAIL in about.values():
        return CONFIRMED
    if Outcome.BORDERLINE in about.values():
        return OPEN
    if failed:
        return SOMETHING_ELSE
    if said.complaint in UNTESTABLE:
        return NOT_FOUND if found else OPEN
    return NOT_FOUND if about and _all_tested(about, said) else OPEN


def at_first_look(claim: str, results: Iterable[Result], sheet: Sheet) -> LookState:
    """What a first look says of a claim, out of the results of that visit; "" where nothing was claimed.

    A look is no test: *not found* is what it did not see. Where it is not clear, was not looked at, or a look cannot
    show it, the full check has to tell.
    """
    if not claim.strip():
        return ""
    found = {key: r.assessment for key, r in counted(results).items() if r.assessment.outcome in VERDICTS}
    looked = {_looked(found, said) for said in parts_of(claim, sheet)}
    order: tuple[LookState, ...] = ("found", "unclear", "something else", "not found")
    return next(state for state in order if state in looked)


def _looked(found: Mapping[Key, Assessment], said: Understood) -> LookState:
    """What was looked at says of one complaint."""
    if not said.complaint and not said.controls:
        return "unclear"
    about = {key: _of_complaint(key, one, said.complaint) for key, one in found.items() if _looks_at(key, said)}
    if Outcome.FAIL in about.values():
        return "found"
    if Outcome.BORDERLINE in about.values():
        return "unclear"
    if any(one.outcome is Outcome.FAIL for one in found.values()):
        return "something else"
    if said.complaint in UNTESTABLE:
        return "not found" if found else "unclear"
    return "not found" if about and _all_tested(about, said) else "unclear"


def _looks_at(key: Key, said: Understood) -> bool:
    """Whether what was looked at could show what is claimed: a glance does where it shows a full check something."""
    if key[0] != GLANCE or said.complaint not in CHECKS:
        return _is_about(key, said)
    in_time = not said.controls or key[1] in said.controls
    return in_time and bool(_GLANCED.intersection(CHECKS[said.complaint]))


def _of_complaint(key: Key, found: Assessment, complaint: str) -> Outcome:
    """What was found, as far as it is what is claimed: a glance that fails may have seen another fault."""
    if key[0] != GLANCE or complaint not in CHECKS or found.outcome is Outcome.PASS:
        return found.outcome
    from station.checks.registry import codes_of  # with the measures: a window that is starting can do without

    checks = [name for name in CHECKS[complaint] if name != GLANCE]
    codes = {code for name in checks for code in codes_of(name)}
    if any(f.code in codes for f in found.findings):
        return found.outcome
    doubted = [f.params.get("checks") for f in found.findings if f.code == "unclear"]
    if not found.findings or any(name in named for named in doubted if isinstance(named, tuple) for name in checks):
        return Outcome.BORDERLINE
    return Outcome.PASS


def state_of(history: UnitHistory, sheet: Sheet) -> str:
    """What a claim is: as a person set it, else as the results say."""
    state = history.unit.claim_state
    return state if state != OPEN else judged(history, sheet)


def _is_about(key: Key, said: Understood) -> bool:
    check, control = key
    if said.controls and control not in said.controls:
        return False
    if said.complaint in UNTESTABLE:
        return False
    return check in CHECKS[said.complaint] if said.complaint in CHECKS else True


def _all_tested(about: Mapping[Key, Outcome], said: Understood) -> bool:
    """Whether each control that is named was tested, or something at all where none is."""
    tested = {control for _, control in about}
    return tested.issuperset(said.controls)


def _controls_in(said: str, sheet: Sheet) -> tuple[str, ...]:
    """The controls that are named, the longest name first, so that “left stick press” is not the left stick."""
    names = sorted(((name, i) for i, called in names_of(sheet).items() for name in called), key=lambda n: -len(n[0]))
    found: list[str] = []
    rest = f" {said} "
    for name, control in names:
        if name and f" {name} " in rest:
            rest = rest.replace(f" {name} ", "  ")
            found.append(control)
    if found:
        return tuple(dict.fromkeys(found))
    told = {kind: [word for word in called if f" {word} " in rest] for kind, called in words.KINDS.items()}
    kinds = [kind for kind, called in told.items() if called]
    if len(kinds) > 1 and told["stick"] == ["sticks"]:
        kinds.remove("stick")  # a button sticks
    return tuple(c.id for c in sheet.controls if c.kind in kinds)


def _complaint_in(said: str) -> str:
    return next((kind for kind, stems in words.STEMS.items() if any(_begins(said, stem) for stem in stems)), "")


def _begins(said: str, stem: str) -> bool:
    return re.search(rf"(?:^|\s){re.escape(stem)}", said) is not None


def _plain(text: str) -> str:
    """Small letters, signs that join words made blanks: "Left-stick: DRIFTS!" → "left stick drifts"."""
    return " ".join(re.sub(r"[^\w']+|_", " ", text.casefold()).split())


def spoken(controls: Iterable[str], sheet: Sheet) -> tuple[str, ...]:
    """The names of controls, by the sheet or else by the words of the trade."""
    named = {c.id: c.name for c in sheet.controls}
    return tuple(named.get(i) or words.CONTROLS.get(i, (i,))[0] for i in controls)
