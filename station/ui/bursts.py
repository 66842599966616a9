"""Told apart by their speed: what a scanner types, and what a hand types. Pure, no Qt, no clock.

A scanner that stands in for a keyboard sends the signs of a tag some 1 to 30 ms apart and ends with Enter or Tab; some
send Enter or Tab before them too. Between two keys of a person lie hardly less than 50 ms (common practice, no source).
So keys that follow each other within `FAST_MS` belong together, and until `HOLD_MS` have passed nobody acts on the
first of them: then it was a key of its own and is played back.

Two signs and an Enter, all of them that fast, are a tag. Signs without an Enter are one from `UNENDED_SIGNS` on, since
a hand that slips down the keyboard strikes several keys at once too. A tag of one sign cannot be told from a key.

A scanner stumbles now and then: a radio link repeats, a busy computer passes its keys on late. A burst that began out
of silence may therefore have one longer gap: between its signs (`GAP_MS`), or before its Enter (`LATE_END_MS`). In the
midst of typing nothing is forgiven, so that the Enter after a word in a note stays an Enter.

Control signs in a burst belong to it and are left out of its tag: separators (GS and the like) of codes that hold
several fields. So the tag is the same whether the scanner is set to send them or not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

FAST_MS = 40.0
"""between the gaps of scanners (to 30 ms) and those of hands (from 50 ms); common practice, no source"""
HOLD_MS = 50
"""how long a key waits for a next one; more than `FAST_MS`, as the timer runs on another clock than the keys"""
GAP_MS = 120.0
"""one gap between the signs of a burst may be that long; customary, no source"""
LATE_END_MS = 300.0
"""an Enter that comes that late still ends its burst; customary, no source"""
TAIL_MS = 150.0
"""an Enter that a scanner sends twice (CR and LF) still belongs to its tag; nobody reacts that quickly"""
QUIET_MS = 300.0
"""no key for that long: what comes then is no word that is being typed; customary, no source"""
LEAST_SIGNS = 2
LATE_END_SIGNS = 3
TORN_SIGNS = 4
"""of a burst with a gap between its signs: a hand strikes two keys as one often, but not twice in a row with Enter"""
UNENDED_SIGNS = 6

T = TypeVar("T")
Kind = Literal["sign", "end", "control", "modifier", "other"]
"""a sign that is written; Enter or Tab; a control sign, typed as a key with Ctrl (some scanners send such round the tag
or in it); Shift and the like alone; every other key"""


@dataclass(frozen=True, slots=True)
class Tag:
    """What a scanner typed. `ended` False: no Enter came after it."""

    text: str
    ended: bool = True


@dataclass(frozen=True, slots=True)
class Verdict(Generic[T]):
    """What is to be done, in this order: play these keys back, take this tag, and let the key itself through unless it
    is `taken` (it waits, or belongs to the tag)."""

    play: tuple[T, ...] = ()
    tag: Tag | None = None
    taken: bool = False


class Bursts(Generic[T]):
    """Keys as they come, each with what stands for it (`key`), are held and given back. `at_ms`: when the key was
    pressed by the clock of the window system, which goes on while the program is busy."""

    def __init__(self) -> None:
        self._held: list[tuple[T, str]] = []
        self._last_ms = self._struck_ms = self._tail_ms = -math.inf
        self._forgives = self._torn = False

    @property
    def waiting(self) -> bool:
        """Keys are held: `silence` must be called when `hold_ms` pass without another."""
        return bool(self._held)

    @property
    def hold_ms(self) -> int:
        """How long what is held waits for a next key."""
        return HOLD_MS + round(max(self._reach_ms("sign"), self._reach_ms("end")) - FAST_MS)

    def press(self, at_ms: float, kind: Kind, text: str, key: T, *, repeated: bool = False) -> Verdict[T]:
        """A key went down; `text`: the sign that it writes. `repeated`: by being held down, which begins nothing."""
        before: Verdict[T] = Verdict()
        gap_ms, quiet_ms = at_ms - self._last_ms, at_ms - self._struck_ms
        if self._held and not 0 <= gap_ms <= self._reach_ms(kind):
            before = self.silence()
        if kind == "modifier":
            if self._held:
                self._keep_up(at_ms, kind)
            return before
        self._struck_ms = at_ms
        if kind in ("end", "control") and not self._held and self._last_ms <= at_ms <= self._tail_ms:
            return Verdict(before.play, before.tag, True)
        if not self._held:
            begins = not repeated and (kind in ("end", "control") or (kind == "sign" and text != " "))
            if begins:
                self._forgives, self._torn = quiet_ms >= QUIET_MS, False
                self._last_ms = at_ms
                self._held.append((key, text if kind == "sign" else ""))
            return Verdict(before.play, before.tag, begins)
        if kind == "other":
            return self.silence()
        self._keep_up(at_ms, kind)
        self._held.append((key, text if kind == "sign" else ""))
        if kind == "end" and self._signs() >= (TORN_SIGNS if self._torn else LEAST_SIGNS):
            return Verdict(tag=self._taken(ended=True), taken=True)
        return Verdict(taken=True)

    def silence(self) -> Verdict[T]:
        """No further key came: what is held was a tag without an Enter, or keys of a hand."""
        if self._signs() >= UNENDED_SIGNS:
            return Verdict(tag=self._taken(ended=False))
        play = tuple(key for key, _ in self._held)
        self._held.clear()
        return Verdict(play)

    def _reach_ms(self, kind: Kind) -> float:
        """How long after the one before a key still belongs to what is held."""
        signs = self._signs() if self._forgives else 0
        if kind == "end":
            return LATE_END_MS if signs >= LATE_END_SIGNS else FAST_MS
        return GAP_MS if signs >= LEAST_SIGNS and kind != "other" else FAST_MS

    def _keep_up(self, at_ms: float, kind: Kind) -> None:
        if at_ms - self._last_ms > FAST_MS:
            self._forgives, self._torn = False, kind != "end"
        self._last_ms = at_ms

    def _signs(self) -> int:
        return sum(bool(text) for _, text in self._held)

    def _taken(self, *, ended: bool) -> Tag:
        text = "".join(text for _, text in self._held)
        self._tail_ms = self._last_ms + (TAIL_MS if ended else LATE_END_MS)
        self._held.clear()
        return Tag(text.strip(), ended)
