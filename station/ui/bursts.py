"""Told apart by their speed: what a scanner types, and what a hand types. Pure, no Qt, no clock.

A scanner that stands in for a keyboard sends the signs of a tag some 1 to 30 ms apart and ends with Enter or Tab; some
send Enter or Tab before them too. Between two keys of a person lie hardly less than 50 ms (common practice, no source).
So keys that follow each other within `FAST_MS` belong together, and until `HOLD_MS` have passed nobody acts on the
first of them: then it was a key of its own and is played back.

Two signs and an Enter, all of them that fast, are a tag. Signs without an Enter are one from `UNENDED_SIGNS` on, since
a hand that slips down the keyboard strikes several keys at once too. A tag of one sign cannot be told from a key.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

FAST_MS = 40.0
"""between the gaps of scanners (to 30 ms) and those of hands (from 50 ms); common practice, no source"""
HOLD_MS = 50
"""how long a key waits for a next one; more than `FAST_MS`, as the timer runs on another clock than the keys"""
TAIL_MS = 150.0
"""an Enter that a scanner sends late, or twice (CR and LF), still belongs to its tag; nobody reacts that quickly"""
LEAST_SIGNS = 2
UNENDED_SIGNS = 6

T = TypeVar("T")
Kind = Literal["sign", "end", "control", "modifier", "other"]
"""a sign that is written; Enter or Tab; a letter with Ctrl (some scanners send such round the tag); Shift and the like
alone; every other key"""


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
        self._last_ms = self._tail_ms = -math.inf

    @property
    def waiting(self) -> bool:
        """Keys are held: `silence` must be called when `HOLD_MS` pass without another."""
        return bool(self._held)

    def press(self, at_ms: float, kind: Kind, text: str, key: T, *, repeated: bool = False) -> Verdict[T]:
        """A key went down; `text`: the sign that it writes. `repeated`: by being held down, which begins nothing."""
        before: Verdict[T] = Verdict()
        if self._held and not 0 <= at_ms - self._last_ms <= FAST_MS:
            before = self.silence()
        if kind in ("end", "control") and not self._held and 0 <= at_ms - self._tail_ms <= TAIL_MS:
            return Verdict(before.play, before.tag, True)
        if kind == "modifier":
            if self._held:
                self._last_ms = at_ms
            return before
        if not self._held:
            begins = not repeated and (kind in ("end", "control") or (kind == "sign" and text != " "))
            if begins:
                self._hold(at_ms, key, text if kind == "sign" else "")
            return Verdict(before.play, before.tag, begins)
        if kind == "other":
            return self.silence()
        self._hold(at_ms, key, text if kind == "sign" else "")
        if kind == "end" and self._signs() >= LEAST_SIGNS:
            return Verdict(tag=self._taken(ended=True), taken=True)
        return Verdict(taken=True)

    def silence(self) -> Verdict[T]:
        """No further key came: what is held was a tag without an Enter, or keys of a hand."""
        if self._signs() >= UNENDED_SIGNS:
            return Verdict(tag=self._taken(ended=False))
        play = tuple(key for key, _ in self._held)
        self._held.clear()
        return Verdict(play)

    def _hold(self, at_ms: float, key: T, text: str) -> None:
        self._held.append((key, text))
        self._last_ms = at_ms

    def _signs(self) -> int:
        return sum(bool(text) for _, text in self._held)

    def _taken(self, *, ended: bool) -> Tag:
        text = "".join(text for _, text in self._held)
        self._tail_ms = self._last_ms
        self._held.clear()
        return Tag(text.strip(), ended)
