"""Learning: from what a device sent during a walk to a model sheet, with a confidence and questions.

In this order, because each needs to know what is spoken for: counters, time stamps and checksums; sticks and triggers;
the direction pad; buttons; what is left over. At the end all of it is held against itself and against the walk.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from station.hid.types import Layout
from station.sheets.learn.board import Pick
from station.sheets.learn.buttons import pick_buttons
from station.sheets.learn.checksum import find_checksums
from station.sheets.learn.crosscheck import cross_checked
from station.sheets.learn.hats import Hat, find_hat
from station.sheets.learn.lacking import lacking
from station.sheets.learn.leftover import leftover
from station.sheets.learn.lists import listed_signals
from station.sheets.learn.nuisance import find_counters
from station.sheets.learn.pulses import pulsing
from station.sheets.learn.questions import question
from station.sheets.learn.result import (
    CERTAIN,
    Outcome,
    button_outcome,
    closed_controls,
    hat_outcome,
    in_sheet,
    stick_outcome,
    trigger_outcome,
)
from station.sheets.learn.sticks import Stick, alike, find_stick
from station.sheets.learn.streams import streams
from station.sheets.learn.switches import find_switches
from station.sheets.learn.triggers import Trigger, find_triggers
from station.sheets.learn.types import Ignored, Learned, LearnStep, Observed, is_part
from station.sheets.learn.walked import Walked
from station.sheets.learn.widths import agreed_sticks, agreed_triggers
from station.sheets.model import Control, Sheet
from station.words import grammar
from station.words import teaching as words


def learn(
    steps: Sequence[Observed],
    *,
    layout: Layout | None = None,
    name: str = "",
    match: Sequence[tuple[int, int]] = (),
) -> Learned:
    """The sheet that the reports of a walk show. Pure.

    `steps` may hold a step several times (done again after a question); they are taken in order of time. `layout`, what
    the device's descriptor says, is a second witness only: nothing is taken from it that the reports contradict.
    """
    ordered = sorted(steps, key=lambda s: s.begin_ns)
    walked = Walked(ordered, streams(ordered, layout), layout)
    ignored = _set_aside(walked)
    sticks = alike(walked, [find_stick(walked, c) for c in walked.controls("stick")])
    sticks = agreed_sticks(walked, sticks)
    walked.take(a.found for s in sticks for a in s.spoken)
    triggers = agreed_triggers(walked, find_triggers(walked, walked.controls("trigger")))
    walked.take(a.found for t in triggers for a in t.spoken)
    switches = {c.id: c for c in find_switches(walked, triggers)}
    hats = [find_hat(walked, c) for c in walked.controls("hat")]
    for hat in hats:
        if hat.bits:
            walked.taken[hat.stream].update(hat.bits)
    signals = [*listed_signals(walked), *pulsing(walked)]
    pressed = [*walked.controls("button"), *(t.control for t in triggers if t.axis is None)]
    picks = pick_buttons(walked, pressed, signals)
    outcomes = cross_checked(walked, _outcomes(walked, sticks, triggers, hats, picks), _spoken(picks))
    ignored += leftover(walked, _spoken(picks))
    return _learned(walked, outcomes, switches, ignored, Sheet(name or words.UNKNOWN_DEVICE, tuple(match)))


def again(learned: Learned) -> tuple[LearnStep, ...]:
    """The steps that would settle the open questions, each once."""
    steps = {step.id: step for q in learned.questions for step in q.redo}
    return tuple(steps.values())


def accepted(learned: Learned, controls: Sequence[str]) -> Learned:
    """With the best guesses for just these controls written, and their questions closed: a person has confirmed them.

    The sheet may name twins that were not accepted: `closed` takes those names out when all answers are given.
    """
    wanted = [c for c in learned.guesses if any(is_part(c.id, i) for i in controls)]
    names = {c.id for c in wanted}
    return replace(
        learned,
        sheet=replace(learned.sheet, controls=(*learned.sheet.controls, *wanted)),
        questions=tuple(q for q in learned.questions if q.control not in controls),
        guesses=tuple(c for c in learned.guesses if c.id not in names),
        confidences={**learned.confidences, **dict.fromkeys(names, CERTAIN)},
    )


def closed(learned: Learned, layout: Layout | None) -> Learned:
    """With every answer given: the sheet without the names of twins and originals that do not stand in it, since they
    were left out by an answer, and with what the device declares and does not have."""
    sheet = replace(learned.sheet, controls=tuple(closed_controls(learned.sheet.controls)))
    learned = replace(learned, sheet=sheet)
    return replace(learned, sheet=replace(sheet, absent=(*sheet.absent, *lacking(learned, layout))))


def _set_aside(walked: Walked) -> list[Ignored]:
    ignored: list[Ignored] = []
    for index, stream in enumerate(walked.streams):
        for found, bits in [*find_counters(stream), *find_checksums(stream)]:
            if not walked.taken[index] & set(bits):
                ignored.append(found)
            walked.taken[index].update(bits)
    return ignored


def _outcomes(
    walked: Walked, sticks: Sequence[Stick], triggers: Sequence[Trigger], hats: Sequence[Hat], picks: Sequence[Pick]
) -> list[Outcome]:
    made = {s.control.id: stick_outcome(walked, s) for s in sticks}
    made |= {t.control.id: trigger_outcome(walked, t) for t in triggers if t.axis is not None}
    made |= {h.control.id: hat_outcome(walked, h) for h in hats}
    contested = {t.control.id for t in triggers if t.doubt == "contested"}
    for pick in picks:
        outcome = button_outcome(walked, pick)
        made[pick.control.id] = replace(outcome, doubt="contested") if pick.control.id in contested else outcome
    return [made[c.id] for c in walked.controls("stick", "trigger", "hat", "button")]


def _spoken(picks: Sequence[Pick]) -> set[tuple[int, int]]:
    return {place for p in picks if p.signal for place in ((p.signal.stream, p.signal.bit), *p.signal.mirrors)}


def _learned(
    walked: Walked, outcomes: Sequence[Outcome], switches: dict[str, Control], ignored: Sequence[Ignored], empty: Sheet
) -> Learned:
    names = {o.asked.id: o.asked.name for o in outcomes}
    sure, guesses = in_sheet(outcomes, switches)
    questions = [question(o.asked, o.doubt, _named(o.other, names)) for o in outcomes if o.doubt]
    confidences = {c.id: o.confidence for o in outcomes for c in (o.made or (o.asked,))}
    confidences |= dict.fromkeys(switches, CERTAIN - 0.02)
    sheet = replace(empty, controls=tuple(sure))
    return Learned(sheet, confidences, tuple(questions), tuple(guesses), tuple(ignored), tuple(walked.notes))


def _named(others: str, names: Mapping[str, str]) -> str:
    """The controls of a list of ids, by name; empty for none."""
    return grammar.COMMA.join(names.get(i, i) for i in others.split(", ")) if others else ""
