"""Held together: contacts that hide each other, or make a third one appear, while several are held at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from station.checks.base import again, count, finding, in_a_row
from station.checks.decide import judged, outcome_of
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.checks.watched import goes_along
from station.measure.arrays import NS_PER_S
from station.measure.contacts import Closures, closures, presses
from station.measure.together import MOSTLY, Hiding, Pair, Phantom, hidings, phantoms, seen_together, taps
from station.sheets.model import Control, Sheet, Zone
from station.sheets.signals import ButtonSignal, HatSignal
from station.words import checks as words
from station.words import unseen
from station.words.grammar import listed, spoken_name

PATIENCE_NS = 20 * NS_PER_S
"""who ends the try after that has tried; pairs that were not seen by then are named and left borderline"""
TWICE = 2
"""once may have been the hand"""
FEWEST_PAIRS = 3
"""where a sheet does not tell where the controls lie, fewer say nothing"""
MOST_NAMED = 4
_THUMBS: tuple[Zone, ...] = ("left hand", "right hand")
_FINGERS: tuple[Zone, ...] = ("top", "back")
_SIDES = ("up", "right", "down", "left")
_OPPOSITE = {"up": "down", "down": "up", "left": "right", "right": "left"}


@dataclass(frozen=True, slots=True)
class _Contact:
    """A button, or one side of a hat. `name` as it is said; `single`: its thumb can hold nothing else (hat, stick)."""

    id: str
    control: Control
    name: str
    single: bool = False


class Together:
    """All pairs of contacts that two hands can hold at once."""

    name = "together"
    title = words.TOGETHER
    about = Description(
        kinds=(),
        readings=(
            ReadingKind("vanishing", words.TOGETHER_VANISHING, limit="vanishing"),
            ReadingKind("appearing", words.TOGETHER_APPEARING, limit="appearing"),
            ReadingKind("pairs", words.TOGETHER_PAIRS),
            ReadingKind("unseen", words.TOGETHER_UNSEEN, limit="unseen", noted=True),
            ReadingKind("untapped", words.TOGETHER_UNTAPPED, limit="untapped", noted=True),
        ),
        findings=(
            FindingKind("vanishes", words.VANISHES),
            FindingKind("appears", words.APPEARS, {"held": in_a_row}),
        ),
        counts=True,
        works_all=True,
        grip="everywhere",
        unseen=unseen.TOGETHER,
    )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and len({c.control.id for c in _contacts(sheet)}) > 1

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        if sheet.drawn_up:
            return Prompt(self.title, words.TOGETHER_DO_ANY, words.TOGETHER_HINT_ANY)
        return Prompt(self.title, words.TOGETHER_DO, words.TOGETHER_HINT)

    def progress(self, take: Take, limits: Limits) -> Progress:
        seen = _seen(take)
        readings = judged(self.name, _readings(seen), limits)
        if take.sheet.drawn_up:
            return Progress(False, words.TOGETHER_MORE_ANY.format(pairs=len(seen.pairs)), 0.0, readings)
        share = 1.0 - (len(seen.unseen) + len(seen.untapped)) / max(len(seen.asked) + len(seen.contacts), 1)
        tried = take.end_ns - take.begin_ns >= PATIENCE_NS
        if (seen.found and tried) or not (seen.unclear or seen.left or seen.untapped):
            return Progress(True, "", 1.0, readings)
        if seen.unclear:
            return Progress(False, _once_more(seen), share, readings)
        if not seen.pairs:
            return Progress(False, words.TOGETHER_BEGIN, 0.0, readings)
        return Progress(False, _next(seen), share, readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        seen = _seen(take)
        readings = judged(self.name, _readings(seen), limits)
        if seen.found:
            return Assessment(outcome_of(readings), readings, _findings(seen))
        if seen.unclear:
            return again(_once_more(seen), readings)
        if take.sheet.drawn_up and len(seen.pairs) < FEWEST_PAIRS:
            return again(words.TOGETHER_FEW, readings)
        if (seen.left or seen.untapped) and take.end_ns - take.begin_ns < PATIENCE_NS:
            return again(_next(seen), readings)
        return Assessment(outcome_of(readings), readings)


# --- which pairs a hand can hold ------------------------------------------------------------------------


def _contacts(sheet: Sheet) -> tuple[_Contact, ...]:
    """Buttons that repeat no other, and the four sides of hats."""
    found = []
    sticks = [] if sheet.drawn_up else [c for c in sheet.controls if c.kind == "stick"]
    for c in sheet.controls:
        if c.kind == "button" and c.seen_as is None:
            of_stick = any(goes_along(stick, c, sheet) for stick in sticks)
            found.append(_Contact(c.id, c, spoken_name(c.name), of_stick))
        elif c.kind == "hat" and c.seen_as is None:
            for side in _SIDES:
                name = words.TOGETHER_SIDE.format(hat=spoken_name(c.name), side=words.DIRECTIONS[side])
                found.append(_Contact(f"{c.id}.{side}", c, name, True))
    return tuple(found)


def _same_finger(a: _Contact, b: _Contact) -> bool:
    """Whether one finger may work both, as far as the sheet tells: in the middle, either thumb may be anywhere."""
    if "centre" in (a.control.zone, b.control.zone):
        return True
    return a.control.zone == b.control.zone and a.control.zone in _THUMBS


def _asked(contacts: tuple[_Contact, ...], sheet: Sheet) -> frozenset[Pair]:
    """The pairs that are asked for: fingers on top and at the back with everything, one thumb's with the other's, and
    buttons side by side. Not the middle (no game asks for it, and a button there may switch the unit off)."""
    if sheet.drawn_up:
        return frozenset()
    found = []
    for a, b in combinations(contacts, 2):
        zones = {a.control.zone, b.control.zone}
        apart = "centre" not in zones and not _same_finger(a, b)
        beside = len(zones) == 1 and "centre" not in zones and not (a.single or b.single) and not _opposite(a, b)
        if apart or beside:
            found.append(frozenset((a.id, b.id)))
    return frozenset(found)


def _opposite(a: _Contact, b: _Contact) -> bool:
    """Opposite sides of a rocker whose sides are buttons, as their ids tell."""
    if a.control.zone not in _THUMBS:
        return False
    (stem_a, _, side_a), (stem_b, _, side_b) = a.id.rpartition("_"), b.id.rpartition("_")
    return stem_a == stem_b and _OPPOSITE.get(side_a) == side_b


# --- what was seen --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Seen:
    contacts: Mapping[str, _Contact]
    asked: frozenset[Pair]
    pairs: frozenset[Pair]
    hidden: tuple[Hiding, ...]
    phantoms: tuple[Phantom, ...]
    untapped: tuple[tuple[str, str], ...]
    """(contact, one to hold) of those that were not tapped twice while another one was held"""
    unclear: tuple[tuple[str, str], ...]
    """(hidden or appeared, with): seen once, or as a hand may do it too"""

    @property
    def found(self) -> bool:
        return bool(self.hidden or self.phantoms)

    @property
    def unseen(self) -> frozenset[Pair]:
        return self.asked - self.pairs - {frozenset((h.hidden, h.hider)) for h in self.hidden}

    @property
    def left(self) -> frozenset[Pair]:
        """The unseen pairs that are worth asking for: what is hidden cannot be seen with more."""
        hidden = {h.hidden for h in self.hidden}
        return frozenset(pair for pair in self.unseen if not pair & hidden)


def _seen(take: Take) -> _Seen:
    contacts = {c.id: c for c in _contacts(take.sheet)}
    closed = {name: c for name, contact in contacts.items() if (c := _closures(take, contact)) is not None}
    pairs = frozenset(seen_together(closed))
    one_hat = {frozenset((a.id, b.id)) for a, b in combinations(contacts.values(), 2) if a.control.id == b.control.id}
    hidden, unclear = _hidden(contacts, closed, pairs, one_hat, take.sheet)
    appeared, unsure = _appeared(contacts, closed, one_hat)
    asked = _asked(tuple(contacts.values()), take.sheet)
    untapped = _untapped(contacts, closed, asked, {h.hidden for h in hidden})
    return _Seen(contacts, asked, pairs - one_hat, hidden, appeared, untapped, (*unclear, *unsure))


def _untapped(
    contacts: Mapping[str, _Contact], closed: Mapping[str, Closures], asked: frozenset[Pair], hidden: set[str]
) -> tuple[tuple[str, str], ...]:
    """What appears with a contact that is held all the while shows only when that one is tapped."""
    found = []
    for who, contact in contacts.items():
        with_it = [next(iter(pair - {who})) for pair in asked if who in pair]
        if who in hidden or not with_it:
            continue
        with_it.sort(key=list(contacts).index)
        if contact.control.zone in _THUMBS:
            with_it = [c for c in with_it if _same_finger(contact, contacts[c])]
            lacking = [c for c in with_it if c not in hidden and not _tapped(closed, who, c) + _tapped(closed, c, who)]
            found += [(who, c) for c in lacking[:1] if (c, who) not in found]
            continue
        for zones in (_FINGERS, _THUMBS):
            group = [c for c in with_it if contacts[c].control.zone in zones and c not in hidden]
            if group and all(_tapped(closed, who, c) < TWICE for c in group):
                found.append((who, group[0]))
    return tuple(found)


def _tapped(closed: Mapping[str, Closures], who: str, held: str) -> int:
    return taps(closed[who], closed[held]) if who in closed and held in closed else 0


def _closures(take: Take, contact: _Contact) -> Closures | None:
    signal = take.signals.get(contact.control.id)
    if isinstance(signal, ButtonSignal) and len(signal.t_ns):
        return presses(closures(signal.t_ns, signal.closed, take.end_ns))
    if isinstance(signal, HatSignal) and len(signal.t_ns):
        middle = 2 * _SIDES.index(contact.id.rpartition(".")[2])
        sides = ((middle - 1) % 8, middle, (middle + 1) % 8)
        return presses(closures(signal.t_ns, np.isin(signal.direction, sides), take.end_ns))
    return None


def _hidden(
    contacts: Mapping[str, _Contact],
    closed: Mapping[str, Closures],
    pairs: frozenset[Pair],
    left_out: set[Pair],
    sheet: Sheet,
) -> tuple[tuple[Hiding, ...], tuple[tuple[str, str], ...]]:
    """What is hidden for sure, and what was seen once.

    Of two that one thumb may work, only what comes and goes at both ends counts, and never once a hand has held both:
    a thumb that rolls over does the like.
    """
    sure: dict[Pair, Hiding] = {}
    unclear: dict[Pair, tuple[str, str]] = {}
    for one in hidings(closed, left_out):
        pair = frozenset((one.hidden, one.hider))
        thumb = sheet.drawn_up or _same_finger(contacts[one.hidden], contacts[one.hider])
        signs = one.full if thumb or pair in pairs else one.full + one.half
        if thumb and pair in pairs:
            continue
        if signs >= TWICE:
            if pair not in sure or _surely(one) > _surely(sure[pair]):
                sure[pair] = one
        elif signs and pair not in pairs:
            unclear[pair] = (one.hidden, one.hider)
    return tuple(sure.values()), tuple(names for pair, names in unclear.items() if pair not in sure)


def _surely(one: Hiding) -> tuple[int, int]:
    return one.full, -one.lasted_ns


def _appeared(
    contacts: Mapping[str, _Contact], closed: Mapping[str, Closures], left_out: set[Pair]
) -> tuple[tuple[Phantom, ...], tuple[tuple[str, str], ...]]:
    """Phantoms for sure, and those that may be a finger that lies across two buttons."""
    sure, unclear = [], []
    for one in phantoms(closed, left_out):
        across = any(_same_finger(contacts[one.who], contacts[n]) for n in one.near)
        if one.times < MOSTLY * one.chances:
            continue
        if one.times < TWICE or (across and not one.without):
            unclear.append((one.who, one.near[0]))
        else:
            sure.append(one)
    return tuple(sure), tuple(unclear)


# --- what is said ---------------------------------------------------------------------------------------


def _readings(seen: _Seen) -> tuple[Reading, ...]:
    n = len(seen.pairs)
    return (
        count("vanishing", len(seen.hidden), n),
        count("appearing", len(seen.phantoms), n),
        count("pairs", n, len(seen.asked)),
        count("unseen", len(seen.unseen), len(seen.asked), _unseen_named(seen)),
        count("untapped", len(seen.untapped), len(seen.asked), _untapped_named(seen)),
    )


def _findings(seen: _Seen) -> tuple[Finding, ...]:
    found = [
        finding("vanishes", seen.contacts[h.hidden].name, {"hider": seen.contacts[h.hider].name}) for h in seen.hidden
    ]
    for one in seen.phantoms:
        held = tuple(seen.contacts[n].name for n in one.held)
        found.append(finding("appears", seen.contacts[one.who].name, {"held": held}))
    return tuple(found)


def _by_contact(seen: _Seen, pairs: frozenset[Pair]) -> list[tuple[str, list[str]]]:
    """Each contact with those it was not seen together with, the neediest first; every pair once."""
    left, found = set(pairs), []
    order = list(seen.contacts)
    while left:
        need = {c: [p for p in left if c in p] for c in order}
        who = max(order, key=lambda c: len(need[c]))
        partners = sorted((next(iter(p - {who})) for p in need[who]), key=order.index)
        found.append((seen.contacts[who].name, [seen.contacts[p].name for p in partners]))
        left -= set(need[who])
    return found


def _next(seen: _Seen) -> str:
    if not seen.left:
        who, held = seen.untapped[0]
        return words.TOGETHER_TAP.format(held=seen.contacts[held].name, who=seen.contacts[who].name)
    who, partners = _by_contact(seen, seen.left)[0]
    return words.TOGETHER_NEXT.format(who=who, partners=listed(partners[:MOST_NAMED]))


def _once_more(seen: _Seen) -> str:
    who, other = seen.unclear[0]
    return words.TOGETHER_ONCE_MORE.format(who=seen.contacts[who].name, other=seen.contacts[other].name)


def _unseen_named(seen: _Seen) -> str:
    if not seen.unseen:
        return ""
    groups = _by_contact(seen, seen.unseen)
    each = [words.TOGETHER_WITH.format(who=who, partners=listed(some)) for who, some in groups[:MOST_NAMED]]
    if more := sum(len(some) for _, some in groups[MOST_NAMED:]):
        each.append(words.TOGETHER_MORE.format(pairs=more))
    return words.TOGETHER_NOT_SEEN.format(pairs=words.TOGETHER_BETWEEN.join(each))


def _untapped_named(seen: _Seen) -> str:
    names = tuple(dict.fromkeys(seen.contacts[who].name for who, _ in seen.untapped))
    return words.TOGETHER_NOT_TAPPED.format(contacts=listed(names)) if names else ""
