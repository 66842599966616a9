"""What a sheet says to a device (`open`, `answers`, `keep_alive`, `counter`; docs/formats.md, "Model sheets"), read
and written.

Bounded, because a sheet may come from anybody: so many steps, so long, so often.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NoReturn

from station.sheets.table import Table, shown
from station.sources.conversation import Conversation, KeepAlive, Reply, Step
from station.sources.vendor_class import VENDOR_SPECIFIC
from station.words import sheets as words

MOST_STEPS = 64
MOST_REPLIES = 16
MOST_BYTES = 4096
MOST_BEGINNING = 8
MOST_WAIT_MS = 5_000
MOST_TRIES = 10
MOST_IN_ALL_MS = 30_000
LEAST_PAUSE_MS, MOST_PAUSE_MS = 20, 600_000


def hex_bytes(table: Table, key: str, value: object, most: int = MOST_BYTES) -> bytes:
    """A hex string of 1 to `most` bytes."""
    try:
        report = bytes.fromhex(value) if isinstance(value, str) else b""
    except ValueError:
        report = b""
    if not 0 < len(report) <= most:
        table.fail(key, words.NOT_A_REPORT.format(value=shown(value), most=most))
    return report


def read_talk(model: Table) -> Conversation:
    """All that the table `model` says of it. SheetError."""
    steps = tuple(_step(model, number, entry) for number, entry in enumerate(model.items("open", MOST_STEPS), 1))
    if sum(step.within_ms * step.tries for step in steps) > MOST_IN_ALL_MS:
        model.fail("open", words.OPENS_TOO_LONG.format(most=MOST_IN_ALL_MS // 1000))
    replies = tuple(
        _reply(model, number, entry) for number, entry in enumerate(model.items("answers", MOST_REPLIES), 1)
    )
    alive = _keep_alive(model) if model.has("keep_alive") else None
    model.raw("keep_alive")
    counter = model.integer("counter", 0, 63) if model.has("counter") else None
    model.raw("counter")
    return Conversation(steps, replies, alive, counter)


def _step(model: Table, number: int, entry: object) -> Step:
    if not isinstance(entry, dict):
        return Step(hex_bytes(model, "open", entry), go_on=True)
    table = Table(model.origin, words.OPEN_STEP.format(number=number), entry)
    if not table.has("send") and not table.has("expect"):
        table.fail("send", words.STEP_DOES_NOTHING)
    send = hex_bytes(table, "send", table.raw("send")) if table.has("send") else b""
    expect = hex_bytes(table, "expect", table.raw("expect"), MOST_BEGINNING) if table.has("expect") else b""
    for key in ("send", "expect", "within_ms", "tries"):
        table.raw(key)
    for key in ("within_ms", "tries") if not expect else ():
        if table.has(key):
            table.fail(key, words.WITHOUT_EXPECT)
    step = Step(
        send,
        table.flag("feature", False) if table.has("feature") else None,
        expect,
        table.integer("within_ms", 1, MOST_WAIT_MS) if expect else 0,
        table.integer("tries", 1, MOST_TRIES, 1) if expect else 1,
        table.flag("go_on", False),
    )
    table.raw("feature")
    table.no_other_keys()
    return step


def _reply(model: Table, number: int, entry: object) -> Reply:
    table = Table(model.origin, words.ANSWERS_ENTRY.format(number=number), entry)
    to = hex_bytes(table, "to", table.raw("to"), MOST_BEGINNING)
    send = hex_bytes(table, "send", table.raw("send"))
    copy = tuple(table.checked_integer("copy", at, 0, len(send) - 1) for at in table.items("copy", len(send)))
    table.no_other_keys()
    return Reply(to, send, copy)


def _keep_alive(model: Table) -> KeepAlive:
    table = Table(model.origin, "model", model.raw("keep_alive"), "keep_alive.")
    send = hex_bytes(table, "send", table.raw("send"))
    alive = KeepAlive(send, table.integer("every_ms", LEAST_PAUSE_MS, MOST_PAUSE_MS))
    table.no_other_keys()
    return alive


def protocols(model: Table, most: int) -> tuple[str, ...]:
    """The interfaces that the sheet is for: class, subclass and protocol, as "ff5d01". SheetError."""

    def refused(value: object) -> NoReturn:
        model.fail("interfaces", words.NOT_AN_INTERFACE.format(value=shown(value)))

    found = []
    for entry in model.items("interfaces", most):
        try:
            three = bytes.fromhex(entry) if isinstance(entry, str) else refused(entry)
        except ValueError:
            refused(entry)
        if len(three) != 3:
            refused(entry)
        if three[0] != VENDOR_SPECIFIC:
            model.fail("interfaces", words.NO_VENDORS_INTERFACE.format(value=shown(entry)))
        found.append(three.hex())
    return tuple(found)


def talk_lines(talk: Conversation) -> Iterator[str]:
    """The lines of the table [model] that say the same."""
    plain = all(step == Step(step.send, go_on=True) for step in talk.steps)
    steps = [f'"{step.send.hex(" ")}"' if plain else _step_text(step) for step in talk.steps]
    yield f"open = [{', '.join(steps)}]"
    if talk.replies:
        yield f"answers = [{', '.join(map(_reply_text, talk.replies))}]"
    if talk.keep_alive is not None:
        yield f'keep_alive = {{ send = "{talk.keep_alive.send.hex(" ")}", every_ms = {talk.keep_alive.every_ms} }}'
    if talk.counter is not None:
        yield f"counter = {talk.counter}"


def _step_text(step: Step) -> str:
    parts = [f'send = "{step.send.hex(" ")}"'] if step.send else []
    if step.feature is not None:
        parts.append(f"feature = {'true' if step.feature else 'false'}")
    if step.expect:
        parts += [f'expect = "{step.expect.hex(" ")}"', f"within_ms = {step.within_ms}", f"tries = {step.tries}"]
    if step.go_on:
        parts.append("go_on = true")
    return f"{{ {', '.join(parts)} }}"


def _reply_text(reply: Reply) -> str:
    copied = f", copy = [{', '.join(map(str, reply.copy))}]" if reply.copy else ""
    return f'{{ to = "{reply.to.hex(" ")}", send = "{reply.send.hex(" ")}"{copied} }}'
