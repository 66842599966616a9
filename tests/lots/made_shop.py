"""A made history of a shop: some hundred units of three models from three sources, with claims, faults, treatments that
help now and then, sales and returns. Every row goes through the records as the program writes them.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from station.checks.types import Assessment, Finding, Outcome, Reading
from station.records.store import Store
from station.records.types import Comeback, Lot, Result, Treatment, Unit

MODELS = ("Plover T2", "Heron S8", "Curlew Pro")
SOURCES = ("market", "wholesaler", "house clearance")


@dataclass(frozen=True, slots=True)
class Fault:
    """What can be wrong: the check that shows it, its finding, what cures it how often, and what sellers call it."""

    check: str
    control: str
    code: str
    reading: str
    good: tuple[float, float]
    bad: tuple[float, float]
    limits: tuple[float, float]
    params: dict[str, object]
    cures: tuple[tuple[str, float, int], ...]
    claim: str
    share: float


FAULTS = (
    Fault(
        "rest", "left_stick", "offset", "offset", (1.6, 0.9), (13.0, 3.0), (5.0, 10.0),
        {"who": "left stick", "offset": 13.0}, (("clean the sensor", 0.55, 12), ("replace module", 0.95, 35)),
        "left stick drifts", 0.30,
    ),
    Fault(
        "rest", "right_stick", "offset", "offset", (1.5, 0.8), (12.0, 3.0), (5.0, 10.0),
        {"who": "right stick", "offset": 12.0}, (("clean the sensor", 0.5, 12), ("replace module", 0.95, 35)),
        "right stick drifts", 0.12,
    ),
    Fault(
        "sweep", "left_stick", "spikes", "spikes_x", (0.0, 0.0), (6.0, 2.0), (0.5, 0.5),
        {"who": "left stick"}, (("clean the sensor", 0.35, 14), ("replace sensor", 0.9, 30)),
        "left stick jumps", 0.10,
    ),
    Fault(
        "light", "key_7", "misses", "faulty", (0.0, 0.0), (7.0, 3.0), (1.5, 1.5),
        {"strength": "light", "faulty": 7, "counted": 20},
        (("contact cleaner", 0.4, 8), ("replace contact pad", 0.85, 25)), "a button does not register", 0.18,
    ),
)  # fmt: skip
CLAIMED = 0.75
TELLS_TRUE = {"market": 0.75, "wholesaler": 0.55, "house clearance": 0.9}


def fill_shop(store: Store, move: Callable[..., None], units: int = 300, seed: int = 3, of_lot: int = 25) -> None:
    """`move`: lets the clock of the records go on, by days or minutes."""
    rng = random.Random(seed)
    lot = None
    for number in range(units):
        if number % of_lot == 0:
            source = SOURCES[number // of_lot % 3]
            bought = store.now()[:10]
            cost = of_lot * rng.randint(700, 1300)
            name = f"{source.capitalize()}, {number // of_lot + 1}"
            lot = store.add_lot(
                Lot("", name, bought, cost_minor=cost, source=source, postage_minor=1800, expected=of_lot)
            )
        assert lot is not None
        _work_through(store, move, rng, number, lot)
        move(**timedelta_of(rng.uniform(2.0, 9.0)))


def timedelta_of(hours: float) -> dict[str, float]:
    return {"seconds": timedelta(hours=hours).total_seconds()}


def _work_through(store: Store, move: Callable[..., None], rng: random.Random, number: int, lot: Lot) -> None:
    wrong = [fault for fault in FAULTS if rng.random() < fault.share]
    claim = ""
    if rng.random() < CLAIMED:
        true = rng.random() < TELLS_TRUE[lot.source]
        claim = rng.choice(wrong).claim if wrong and true else rng.choice(FAULTS).claim
    unit = store.add_unit(Unit("", f"RS-{number + 1:03d}", rng.choices(MODELS, (6, 3, 1))[0], lot.id, claim=claim))
    unit = store.change_unit(replace(unit, sheet=unit.model))
    _visit(store, rng, unit, "intake", wrong)
    attempts = {fault.code + fault.control: list(fault.cures) for fault in wrong}
    while wrong and rng.random() < 0.93:
        fault = wrong[0]
        left = attempts[fault.code + fault.control]
        if not left:
            break
        kind, rate, minutes = left.pop(0)
        move(seconds=60.0 * minutes)
        cost = 0 if kind.startswith(("clean", "contact cl")) else rng.randint(150, 600)
        store.add_treatment(
            Treatment("", unit.id, kind, "", minutes=max(3, round(rng.gauss(minutes, 4))), cost_minor=cost)
        )
        if rng.random() < rate:
            wrong = wrong[1:]
        _visit(store, rng, unit, "after treatment", wrong)
    unit = store.unit(unit.id)
    if wrong:
        becomes = rng.choice(("donor", "sell as is", "scrap", "open"))
        store.change_unit(replace(unit, becomes=becomes))
        return
    move(**timedelta_of(80.0))
    if rng.random() < 0.12:
        return
    price = round(rng.gauss(3100, 350))
    sale = {"sold_minor": price, "sold_on": store.now()[:10], "channel": "market", "fees_minor": price // 10}
    store.change_unit(replace(unit, becomes="sold", shipping_minor=450, **sale), reason="made history")
    if rng.random() < 0.04:
        move(**timedelta_of(200.0))
        back = Comeback(
            "", unit.id, store.now()[:10], "drifts again", rng.choice(("same fault", "nothing found")), price, 450
        )
        store.come_back(back)


def _visit(store: Store, rng: random.Random, unit: Unit, kind: str, wrong: list[Fault]) -> None:
    visit = store.start_visit(unit.id, kind)
    for fault in FAULTS:
        bad = fault in wrong
        mean, sd = fault.bad if bad else fault.good
        value = max(rng.gauss(mean, sd), mean * 0.3) if sd else mean
        value = max(value, fault.limits[1] * 1.1) if bad else min(abs(value), fault.limits[0] * 0.9)
        reading = Reading(fault.reading, round(value, 2), "%" if fault.reading == "offset" else "", 0.3, *fault.limits)
        finding = (Finding(fault.code, fault.claim, "x", None, fault.params),) if bad else ()
        outcome = Outcome.FAIL if bad else Outcome.PASS
        store.add_result(
            Result("", visit.id, fault.check, fault.control, 0, "", Assessment(outcome, (reading,), finding))
        )
    store.finish_visit(visit.id)


COURSE = (
    ("intake", 14.8, None, 0.0),
    ("after treatment", 11.2, "clean from outside", 0.3),
    ("after treatment", 2.1, "clean the sensor", 0.4),
    ("after rest", 3.4, None, 76.0),
    ("final", 9.6, None, 30.0),
    ("after treatment", 1.1, "replace module", 2.0),
    ("after rest", 1.2, None, 80.0),
)
"""kind of visit, how far the stick rests off centre in %, what was done before, and how many hours passed"""


def long_course(store: Store, move: Callable[..., None], model: str) -> Unit:
    """A unit with seven visits, whose first cure did not hold."""
    unit = store.add_unit(Unit("", "SM-07-12", model, None, sheet=model, claim="left stick drifts"))
    for kind, offset, treatment, hours in COURSE:
        move(hours=hours)
        if treatment is not None:
            store.add_treatment(Treatment("", unit.id, treatment, "", "left stick sensor", 12))
        visit = store.start_visit(unit.id, kind)
        told = (("rest", "offset", offset, (5.0, 10.0)), ("letgo", "return_offset", offset / 2 + 1.0, (6.0, 12.0)))
        for check, name, value, limits in told:
            outcome = Outcome.PASS if value <= limits[0] else Outcome.BORDERLINE if value <= limits[1] else Outcome.FAIL
            done = Assessment(outcome, (Reading(name, round(value, 2), "%", 0.7, *limits),))
            store.add_result(Result("", visit.id, check, "left_stick", 0, "", done))
        store.finish_visit(visit.id)
    return unit
