"""The choice of the next treatment, as numbers: decision-theoretic troubleshooting.

One bad part, treatments that each cure it with some probability if it is the one they are for. When treatments are
independent, perfect and share nothing, the order of falling p/c has the least expected cost (Heckerman, Breese and
Rommelse, CACM 38(3), 1995; Kadane and Simon 1977). With a housing to open once for several of them, tests that may
wait, treatments that may fail or ruin the unit, and the choice to stop, that rule no longer holds; then `best_plan`
finds the best plan by going through all states (Ottosen and Jensen: cost clusters, arXiv 1203.3502; when to test,
2010).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

MAX_OPTIONS = 8
"""3ⁿ states are gone through: 6,561 for 8"""


def pc_order(p: Sequence[float], c: Sequence[float]) -> tuple[int, ...]:
    """Indices in the order of falling p/c: least expected cost for one fault and independent, perfect treatments."""
    return tuple(sorted(range(len(p)), key=lambda i: -p[i] / c[i] if c[i] else float("-inf")))


def expected_cost(order: Sequence[int], p: Sequence[float], c: Sequence[float]) -> float:
    """Expected cost of repair: Σ c_i · (1 − Σ of the p before it)."""
    left, cost = 1.0, 0.0
    for i in order:
        cost += c[i] * left
        left -= p[i]
    return cost


@dataclass(frozen=True, slots=True)
class Option:
    """A treatment: `cures[j]` = probability that it cures if suspect j is the bad part; `cost` without opening."""

    cures: tuple[float, ...]
    cost: float
    harm: float = 0.0
    needs_open: bool = False
    after: int | None = None
    """index of the option that must have been tried before (a second try of the same)"""
    pointless_after: tuple[int, ...] = ()
    """indices of options that include this one: once done, this one is not tried any more"""


@dataclass(frozen=True, slots=True)
class Stakes:
    """What is won and lost: `cured` when the fault is gone, `stop` by stopping, `ruined` after harm."""

    cured: float
    stop: float
    ruined: float
    open_cost: float
    test_cost: float
    test_closes: bool = True
    """whether the housing has to be closed for a test (else it is opened at most once)"""


@dataclass(frozen=True, slots=True)
class Course:
    """What going by a plan to its end comes to.

    `does`: (index of an option, probability that it is done), in their order. `cured`, `stopped`, `ruined`: how it
    ends, probabilities that add up to 1. `tests`, `openings`: how many of each are to be expected.
    """

    does: tuple[tuple[int, float], ...] = ()
    cured: float = 0.0
    stopped: float = 1.0
    ruined: float = 0.0
    tests: float = 0.0
    openings: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """The best plan.

    `round`: indices of the options to do now, in this order, before one test; empty: stop. `then`: what follows if the
    fault is still there after that test; None: stop. `value`: expected outcome with all costs. `on`: the best expected
    outcome if one goes on at least once more, even if that is worse than to stop; None: there is no way on. `course`:
    what it comes to, followed to its end.
    """

    round: tuple[int, ...]
    value: float
    then: int | None = None
    on: float | None = None
    course: Course = Course()


_STOP, _TEST = -1, -2


class _Search:
    """Values of all states (done, tested): bit sets of the options done, and of those done before the last test."""

    def __init__(self, weights: Sequence[float], options: Sequence[Option], stakes: Stakes) -> None:
        self._options = options
        self._stakes = stakes
        self._weights = [w / sum(weights) for w in weights]
        self._alive: dict[int, float] = {}
        self._best: dict[tuple[int, int], tuple[float, int]] = {}
        self._includes = [sum(1 << k for k in o.pointless_after) for o in options]
        self._open = sum(1 << i for i, o in enumerate(options) if o.needs_open)

    def alive(self, done: int) -> float:
        """Probability that the fault is still there after these treatments."""
        if done not in self._alive:
            total = 0.0
            for j, weight in enumerate(self._weights):
                for i, option in enumerate(self._options):
                    if done >> i & 1:
                        weight *= 1.0 - option.cures[j]
                total += weight
            self._alive[done] = total
        return self._alive[done]

    def best(self, done: int, tested: int) -> tuple[float, int]:
        """(value, choice) in a state where the last test, after `tested`, still showed the fault."""
        state = (done, tested)
        if state not in self._best:
            self._best[state] = self._search(done, tested)
        return self._best[state]

    def _search(self, done: int, tested: int) -> tuple[float, int]:
        best = (self._stakes.stop, _STOP)
        if self.alive(tested) <= 1e-12:
            return best
        if done != tested:
            best = max(best, (self.tested_value(done, tested), _TEST))
        return max([best, *self.ways_on(done, tested)])

    def ways_on(self, done: int, tested: int) -> list[tuple[float, int]]:
        """(value, index) of every option that can be done next."""
        return [
            (self._value_of(i, option, done, tested), i)
            for i, option in enumerate(self._options)
            if not done >> i & 1 and (option.after is None or done >> option.after & 1) and not done & self._includes[i]
        ]

    def _value_of(self, i: int, option: Option, done: int, tested: int) -> float:
        cost = option.cost + (self._stakes.open_cost if self._opens(option, done, tested) else 0.0)
        on, _ = self.best(done | 1 << i, tested)
        return -cost + option.harm * self._stakes.ruined + (1.0 - option.harm) * on

    def _opens(self, option: Option, done: int, tested: int) -> bool:
        """Whether the housing is shut and has to be opened for this option."""
        opened_since = done ^ tested if self._stakes.test_closes else done
        return option.needs_open and not opened_since & self._open

    def _fails(self, done: int, tested: int) -> float:
        """Probability that a test now still shows the fault, which the last test showed."""
        return min(self.alive(done) / self.alive(tested), 1.0)

    def course(self) -> Course:
        """The best plan, followed to its end. As long as the fault stays there is one way on, so it is a chain."""
        here, done, tested = 1.0, 0, 0
        does: list[tuple[int, float]] = []
        cured = ruined = tests = openings = 0.0
        while (choice := self.best(done, tested)[1]) != _STOP:
            if choice == _TEST:
                fails = self._fails(done, tested)
                tests += here
                cured += here * (1.0 - fails)
                here, tested = here * fails, done
                if not fails:
                    break
                continue
            option = self._options[choice]
            does.append((choice, here))
            openings += here * self._opens(option, done, tested)
            ruined += here * option.harm
            here *= 1.0 - option.harm
            done |= 1 << choice
        return Course(tuple(does), cured, here, ruined, tests, openings)

    def tested_value(self, done: int, tested: int) -> float:
        """Value of testing now."""
        fails = self._fails(done, tested)
        on = self.best(done, done)[0] if fails > 0 else 0.0
        return -self._stakes.test_cost + (1.0 - fails) * self._stakes.cured + fails * on


def best_plan(weights: Sequence[float], options: Sequence[Option], stakes: Stakes) -> Plan:
    """The plan of the greatest expected value. `weights`: how likely each suspect is the bad one (any scale).

    At most `MAX_OPTIONS` options; use `shortlist` before.
    """
    if len(options) > MAX_OPTIONS:
        raise ValueError(f"more than {MAX_OPTIONS} options")
    if not options or sum(weights) <= 0:
        return Plan((), stakes.stop)
    search = _Search(weights, options, stakes)
    value, choice = search.best(0, 0)
    on = max(search.ways_on(0, 0), default=(None, _STOP))[0]
    done, now = 0, []
    while choice >= 0:
        now.append(choice)
        done |= 1 << choice
        _, choice = search.best(done, 0)
    if choice == _STOP and now:
        raise AssertionError("an untested round ends without a test")
    _, then = search.best(done, done)
    return Plan(tuple(now), value, then if now and then >= 0 else None, on, search.course())


def subset(options: Sequence[Option], kept: Sequence[int]) -> tuple[Option, ...]:
    """The kept options with what they say of each other in the new numbers."""
    new = {old: i for i, old in enumerate(kept)}
    return tuple(
        replace(
            options[i],
            after=new[a] if (a := options[i].after) is not None else None,
            pointless_after=tuple(new[k] for k in options[i].pointless_after if k in new),
        )
        for i in kept
    )


def shortlist(weights: Sequence[float], options: Sequence[Option], open_cost: float, limit: int) -> tuple[int, ...]:
    """The `limit` options with the greatest chance of a cure per cost; a second try only beside its first."""
    total = sum(weights) or 1.0

    def worth(i: int) -> float:
        option = options[i]
        p = sum(w * q for w, q in zip(weights, option.cures, strict=True)) / total
        return p / max(option.cost + (open_cost if option.needs_open else 0.0), 1e-9)

    ranked = sorted((i for i in range(len(options)) if any(options[i].cures)), key=lambda i: -worth(i))
    kept: list[int] = []
    for i in ranked:
        after = options[i].after
        if len(kept) < limit and (after is None or after in kept):
            kept.append(i)
    return tuple(sorted(kept))
