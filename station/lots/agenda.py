"""The plan for a lot in words: what to do in which order, what one more hour would bring, what a price changes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from station.diagnosis.courses import Deed
from station.lots.plan import LIMIT_S, Candidate, LotPlan, Problem, Source, Way, brings, improving, solve
from station.lots.ways import LotProblem
from station.records.types import Unit
from station.words import figures, grammar
from station.words import plan as words

MOVED_PERCENT = 10
"""so far a price is moved, up and down, to see what that changes: customary, no published source"""
PRICES = {"ready": "ready_minor", "as_is": "as_is_minor", "parts": "parts_minor"}
"""what moves → its price in `Values`"""
MOVED_LIMIT_S = 2.0
"""so long each of the plans with something moved may take"""
_SURE, _LIKELY = 0.995, 0.5
"""chances above which something is said without one, and above which a part is bought beforehand"""
_WHOLE = 0.5
"""amounts smaller than that, in minor units, are nothing"""


@dataclass(frozen=True, slots=True)
class Task:
    """A unit with what to do. `parts`: where its parts come from, or who gets its own; `told`: all of it in words.
    `ready`: probability that it is ready in the end; None where that is no question. `brings_minor`: expected, after
    its parts, materials and minutes."""

    unit: Unit
    kind: str
    title: str
    parts: str
    minutes: float
    ready: float | None
    brings_minor: float
    told: str


@dataclass(frozen=True, slots=True)
class Move:
    """Something moved, and the plan solved again: what it brings then, and which units go another way."""

    what: str
    plan: LotPlan
    changes: str


@dataclass(frozen=True, slots=True)
class PlanTold:
    """A plan as it is shown. `hour`: what one more hour would bring, in words; "" until it is known."""

    lot: LotProblem
    plan: LotPlan
    tasks: tuple[Task, ...]
    verdict: str
    quality: str
    notes: tuple[str, ...]
    hour: str = ""
    moves: tuple[Move, ...] = ()


def worked_out(lot: LotProblem, hours: float | None, seconds: float = LIMIT_S) -> Iterator[PlanTold]:
    """The plan as it gets better, then with what moves: with one hour more, and with each price up and down, each by
    solving again. Whoever has seen enough takes no more of them."""
    told = None
    for plan in improving(lot.problem, hours, seconds):
        told = told_of(lot, plan)
        yield told
    assert told is not None
    if hours is not None:
        more = solve(lot.problem, hours + 1, seconds=MOVED_LIMIT_S)
        told = replace(told, hour=_hour(told.plan, more, lot.lot.currency))
        yield told
    for name, key in PRICES.items():
        for sign, said in ((1, words.PRICE_UP), (-1, words.PRICE_DOWN)):
            problem = with_price(lot.problem, key, 1 + sign * MOVED_PERCENT / 100)
            moved = solve(problem, hours, seconds=MOVED_LIMIT_S)
            what = said[name].format(percent=MOVED_PERCENT)
            told = replace(told, moves=(*told.moves, Move(what, moved, changes(told.plan, moved))))
            yield told


def with_price(problem: Problem, key: str, factor: float) -> Problem:
    """The problem with one of the prices of every unit moved. `key`: a field of `Values`."""
    units = (
        replace(unit, prices=replace(unit.prices, **{key: round(getattr(unit.prices, key) * factor)}))
        for unit in problem.units
    )
    return replace(problem, units=tuple(units))


# --- the whole of it ----------------------------------------------------------------------------------------


def told_of(lot: LotProblem, plan: LotPlan) -> PlanTold:
    """The plan in words."""
    return PlanTold(lot, plan, tasks_of(lot, plan), _verdict(lot, plan), quality(lot, plan), _notes(lot, plan))


def _verdict(lot: LotProblem, plan: LotPlan) -> str:
    currency = lot.lot.currency
    kinds: Counter[str] = Counter(way.kind for _, way in plan.rows())
    counts = (
        grammar.plural(kinds[kind], forms).format(n=figures.number(kinds[kind], 0))
        for kind, forms in words.COUNTS.items()
        if kinds[kind]
    )
    template = words.VERDICT_ALL if plan.hours is None else words.VERDICT
    return figures.no_break(
        template.format(
            hours=figures.plain(plan.hours or 0.0),
            takes=figures.number(plan.minutes / 60, 1),
            value=figures.money(round(plan.value), currency),
            more=figures.money(round(plan.value - without_work(plan.problem)), currency),
            counts=grammar.listed(list(counts)),
        )
    )


def without_work(problem: Problem) -> float:
    """What it brings when nothing is done that takes time or parts, in minor units."""
    left = ([w for w in unit.ways if not w.minutes and not w.pieces] for unit in problem.units)
    return sum(
        max(brings(way, unit, problem.hour_minor) for way in ways)
        for unit, ways in zip(problem.units, left, strict=True)
    )


def quality(lot: LotProblem, plan: LotPlan) -> str:
    """How good it is."""
    if plan.is_best:
        return words.BEST
    if math.isinf(plan.gap):
        return words.NO_BOUND
    return words.NOT_YET_BEST.format(gap=figures.money(math.ceil(plan.gap), lot.lot.currency))


def _hour(plan: LotPlan, more: LotPlan, currency: str) -> str:
    """The difference that one hour more makes; the plan as it is can be carried out with it too."""
    if not (plan.is_best and more.is_best):
        return words.AN_HOUR_NOT_KNOWN
    worth = more.value - plan.value
    if worth < _WHOLE:
        return words.AN_HOUR_NOTHING
    return words.AN_HOUR.format(worth=figures.money(round(worth), currency))


def _notes(lot: LotProblem, plan: LotPlan) -> tuple[str, ...]:
    said = []
    if bought := to_buy(plan):
        told = (
            words.BUY.format(part=part, title=title, tags=grammar.COMMA.join(tags))
            for (part, title), tags in bought.items()
        )
        said.append(words.TO_BUY.format(parts=words.DEEDS.join(told)))
    if not any(way.kind == "donor" for _, way in plan.rows()):
        said.append(words.NO_DONORS)
    if lot.left_out:
        said.append(words.OTHER_MONEY.format(parts=grammar.COMMA.join(lot.left_out)))
    if lot.to_test:
        tags_to_test = grammar.COMMA.join(sorted(unit.tag for unit in lot.to_test))
        said.append(words.TO_TEST.format(tags=tags_to_test))
    return tuple(said)


def to_buy(plan: LotPlan) -> dict[tuple[str, str], list[str]]:
    """(part, treatment) → tags of the units for which it is to be bought, where it is more likely used than not."""
    found: dict[tuple[str, str], list[str]] = {}
    for unit, way in plan.rows():
        mine = [source for source in plan.sources if source.unit_id == unit.unit_id]
        needing = [deed for deed in way.does if deed.needs_part]
        for source, deed in zip(mine, needing, strict=True):
            if source.is_new and source.use > _LIKELY:
                found.setdefault((source.part, deed.title), []).append(unit.tag)
    return found


def changes(before: LotPlan, now: LotPlan) -> str:
    """Which units go another way, in words."""
    if not (before.is_best and now.is_best):
        return words.CHANGES_NOT_KNOWN
    said = []
    for unit, was, will in zip(before.problem.units, before.ways, now.ways, strict=True):
        old, new = unit.ways[was], unit.ways[will]
        if old.kind != new.kind:
            kinds = words.SHORT_KINDS
            said.append(words.CHANGE.format(tag=unit.tag, now=kinds[new.kind], before=kinds[old.kind]))
        elif was != will:
            said.append(words.CHANGES_COURSE.format(tag=unit.tag))
    return words.DEEDS.join(said) or words.CHANGES_NOTHING


# --- what to do, in order -------------------------------------------------------------------------------------


def tasks_of(lot: LotProblem, plan: LotPlan) -> tuple[Task, ...]:
    """What to do in the order in which it is done: what takes no time; then the repairs, those that bring most for
    their minutes first, each after the units that are given up for it; then second tests, and what is sold as it is."""
    units = {unit.id: unit for unit in lot.units}
    rows = list(plan.rows())
    given = [source for source in plan.sources if source.giver]
    tags = {unit.unit_id: unit.tag for unit, _ in rows}
    named = dict(zip((unit.unit_id for unit, _ in rows), rows, strict=True))

    def task(unit: Candidate, way: Way) -> Task:
        return _task(lot, plan, units[unit.unit_id], unit, way, tags)

    repairs = [row for row in rows if row[1].kind == "repair"]
    repairs.sort(key=lambda row: -_gain(plan, *row) / max(row[1].minutes, 1e-9))
    order = [row for row in rows if row[1].kind == "ready"]
    for row in repairs:
        givers = dict.fromkeys(source.giver for source in given if source.unit_id == row[0].unit_id)
        order += [named[giver] for giver in givers if named[giver] not in order]
        order.append(row)
    for kind in ("donor", "rest", "sell"):
        order += [row for row in rows if row[1].kind == kind and row not in order]
    return tuple(task(*row) for row in order)


def _gain(plan: LotPlan, unit: Candidate, way: Way) -> float:
    """How much more it brings than as it is, in minor units, after its parts."""
    return _brings(plan, unit, way) - unit.prices.as_is_minor


def _brings(plan: LotPlan, unit: Candidate, way: Way) -> float:
    parts = sum(source.cost_minor for source in plan.sources if source.unit_id == unit.unit_id)
    return brings(way, unit, plan.problem.hour_minor) - parts


def _task(lot: LotProblem, plan: LotPlan, unit: Unit, candidate: Candidate, way: Way, tags: dict[str, str]) -> Task:
    mine = [source for source in plan.sources if source.unit_id == unit.id]
    gives = [source for source in plan.sources if source.giver == unit.id]
    title = _deed(way.does[0]) if way.does else grammar.sentence_start(words.KINDS[way.kind])
    parts = [words.GIVES.format(part=s.part, tag=tags[s.unit_id]) for s in gives]
    parts = parts or _where_from(mine, tags)
    ready = way.ready if way.kind == "repair" else None
    brings_minor = _brings(plan, candidate, way)
    told = _told(lot, plan, unit, candidate, way, tags)
    return Task(unit, way.kind, title, grammar.COMMA.join(parts), way.minutes, ready, brings_minor, told)


def _told(lot: LotProblem, plan: LotPlan, unit: Unit, candidate: Candidate, way: Way, tags: dict[str, str]) -> str:
    currency = lot.lot.currency
    if way.kind == "donor":
        gives = [words.GIVES.format(part=s.part, tag=tags[s.unit_id]) for s in plan.sources if s.giver == unit.id]
        if not gives:
            return words.GIVES_NOBODY_TOLD.format(tag=unit.tag)
        return words.GIVE_UP_TOLD.format(tag=unit.tag, gives=grammar.listed(gives))
    if way.kind == "ready":
        return words.READY_TOLD.format(tag=unit.tag)
    if way.kind == "rest":
        return words.SECOND_TEST_TOLD.format(tag=unit.tag, day=figures.day(unit.rest_until))
    if way.kind == "sell":
        return words.SELL_TOLD.format(tag=unit.tag)
    ends = words.ENDS.format(
        ready=_percent(way.ready),
        as_is=_percent(way.as_is),
        as_parts=_percent(way.as_parts),
        more=figures.money(round(_gain(plan, candidate, way)), currency),
    )
    does = words.DEEDS.join(_deed(deed) for deed in way.does)
    told = words.REPAIR_TOLD.format(tag=unit.tag, does=does, ends=ends)
    parts = [_supplied(s, tags, currency) for s in plan.sources if s.unit_id == unit.id]
    told = words.PARTS_TOLD.format(told=told, parts=grammar.COMMA.join(parts)) if parts else told
    return figures.no_break(told)


def _deed(deed: Deed) -> str:
    template = words.DEED if deed.chance >= _SURE else words.DEED_IN_SO_MANY
    return template.format(part=deed.part, title=deed.title, chance=_percent(deed.chance))


def _where_from(sources: Sequence[Source], tags: dict[str, str]) -> list[str]:
    """Where parts come from, each place once; those that are hardly used only where there are no others."""
    likely = list(dict.fromkeys(_from(s, tags) for s in sources if s.use > _LIKELY))
    perhaps = dict.fromkeys(_from(s, tags) for s in sources)
    return likely or [words.PERHAPS.format(source=source) for source in perhaps]


def _from(source: Source, tags: dict[str, str]) -> str:
    if source.giver:
        return tags[source.giver]
    return words.NEW if source.is_new else words.FROM_SHELF


def _supplied(source: Source, tags: dict[str, str], currency: str) -> str:
    if source.giver:
        return words.PART_FROM_UNIT.format(part=source.part, giver=tags[source.giver])
    if source.is_new:
        cost = figures.money(round(source.cost_minor / source.use), currency)
        return words.PART_NEW.format(part=source.part, cost=cost)
    return words.PART_FROM_SHELF.format(part=source.part)


def _percent(share: float) -> str:
    return figures.number(100 * share, 0)


def cells_of(task: Task, currency: str) -> tuple[str, ...]:
    """The row of a task, in the order of `words.TODO_HEADS`."""
    return (
        task.unit.tag,
        task.title,
        task.parts,
        figures.number(task.minutes, 0) if task.minutes else "",
        words.PERCENT.format(share=_percent(task.ready)) if task.ready is not None else "",
        figures.amount(round(task.brings_minor), currency),
    )


def move_cells(move: Move, currency: str) -> tuple[str, ...]:
    """The row of a move, in the order of `words.MOVES_HEADS`."""
    return (move.what, figures.amount(round(move.plan.value), currency), move.changes)


def stopped(told: PlanTold) -> PlanTold:
    """The same, said to be stopped where it is not the best."""
    if told.plan.is_best:
        return told
    return replace(told, quality=words.STOPPED.format(quality=told.quality))


def lines_of(told: PlanTold) -> Sequence[str]:
    """The whole plan as lines of text, for a terminal."""
    currency = told.lot.lot.currency
    said = [told.verdict, told.quality, *told.notes, ""]
    for number, task in enumerate(told.tasks, start=1):
        said.append(words.NUMBERED.format(number=figures.number(number, 0), told=_line(task)))
    said += ["", told.hour] if told.hour else []
    if told.moves:
        said += ["", words.MOVES_TITLE]
        for move in told.moves:
            brings_then = figures.money(round(move.plan.value), currency)
            said.append(words.MOVE.format(what=move.what, brings=brings_then, changes=move.changes))
    return said


def _line(task: Task) -> str:
    return task.told if task.kind == "repair" else words.DEED.format(part=task.unit.tag, title=task.title)
