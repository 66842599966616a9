"""What is said to a device when it is opened, and after: some pads say nothing or little until they were spoken to.

Immutable, and as plain values for the reader process, which says it (`sources.talking`). Sheets give it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any


@dataclass(frozen=True, slots=True)
class Step:
    """One step of opening: send a report, wait for one, or both.

    `feature` None: the descriptor says which kind it is. `expect`: how the report begins that must come within
    `within_ms` (empty: none); else it is tried again, up to `tries` times in all, and then the opening stops, or goes
    on (`go_on`).
    """

    send: bytes = b""
    feature: bool | None = None
    expect: bytes = b""
    within_ms: int = 0
    tries: int = 1
    go_on: bool = False


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer that the device asks for: to a report that begins with `to` this is sent, with the bytes at `copy`
    (from 0) taken from that report."""

    to: bytes
    send: bytes
    copy: tuple[int, ...] = ()

    def to_report(self, report: bytes) -> bytes:
        """The answer to this very report."""
        answer = bytearray(self.send)
        for at in self.copy:
            if at < len(report):
                answer[at] = report[at]
        return bytes(answer)


@dataclass(frozen=True, slots=True)
class KeepAlive:
    """What is sent again and again while the device is open."""

    send: bytes
    every_ms: int


@dataclass(frozen=True, slots=True)
class Conversation:
    """All of it. `counter`: which byte (from 0) of each output report that is sent holds a running number."""

    steps: tuple[Step, ...] = ()
    replies: tuple[Reply, ...] = ()
    keep_alive: KeepAlive | None = None
    counter: int | None = None

    def __bool__(self) -> bool:
        return bool(self.steps or self.replies or self.keep_alive)

    def sends(self) -> Iterator[bytes]:
        """Every report that it can send, each once, in order."""
        yield from dict.fromkeys(
            report
            for report in (
                *(step.send for step in self.steps),
                *(reply.send for reply in self.replies),
                *((self.keep_alive.send,) if self.keep_alive else ()),
            )
            if report
        )

    def settled(self, is_feature: Callable[[bytes], bool]) -> Conversation:
        """With the kind of every step's report said."""
        steps = (replace(s, feature=is_feature(s.send) if s.feature is None else s.feature) for s in self.steps)
        return replace(self, steps=tuple(steps))


NOTHING = Conversation()


def plain(*reports: bytes) -> Conversation:
    """Reports that are sent one after the other, whether they are taken or not, and no more."""
    return Conversation(tuple(Step(report, go_on=True) for report in reports))


def as_values(said: Conversation) -> dict[str, Any]:
    """For the reader process, as JSON can carry it."""
    return {
        "steps": [[s.send.hex(), s.feature, s.expect.hex(), s.within_ms, s.tries, s.go_on] for s in said.steps],
        "replies": [[r.to.hex(), r.send.hex(), list(r.copy)] for r in said.replies],
        "keep_alive": [said.keep_alive.send.hex(), said.keep_alive.every_ms] if said.keep_alive else None,
        "counter": said.counter,
    }


def from_values(values: Mapping[str, Any]) -> Conversation:
    """The inverse of `as_values`."""
    text = bytes.fromhex
    alive = values.get("keep_alive")
    return Conversation(
        tuple(Step(text(s), f, text(e), w, t, g) for s, f, e, w, t, g in values.get("steps", ())),
        tuple(Reply(text(to), text(send), tuple(copy)) for to, send, copy in values.get("replies", ())),
        KeepAlive(text(alive[0]), alive[1]) if alive else None,
        values.get("counter"),
    )
