"""The questions of docs/records.md, asked of records made by hand; and views that say what the program says."""

from __future__ import annotations

import random
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from station.checks.types import Assessment, Outcome, Reading
from station.judgement.tries import counts, only_a_look
from station.lots.accounts import Kept, entries_of, sums_of, unit_accounts
from station.records.clock import parse_time
from station.records.store import Store
from station.records.types import Comeback, Lot, Result, Treatment, Unit, UnitHistory
from tests.records.records_kit import HandClock, open_store

PAPER = Path(__file__).parents[2] / "docs" / "records.md"
FAIL, PASS, NEAR = Outcome.FAIL, Outcome.PASS, Outcome.BORDERLINE


def questions() -> dict[str, str]:
    """The line above each query → the query."""
    text = PAPER.read_text("utf-8").split("## Questions you can ask")[1]
    return dict(re.findall(r"^([^\n]+):\n\n```sql\n(.*?)```", text, re.DOTALL | re.MULTILINE))


def asked(store: Store, beginning: str) -> list[tuple[Any, ...]]:
    (query,) = [query for line, query in questions().items() if line.startswith(beginning)]
    with store._connections.reading() as db:
        return [tuple(row) for row in db.execute(query)]


def result(visit: str, check: str, outcome: Outcome, control: str = "left_stick", value: float | None = None) -> Result:
    readings = (Reading("offset", value, "%", 0.3, 5.0, 10.0, "<=", 300),) if value is not None else ()
    return Result("", visit, check, control, 0, "", Assessment(outcome, readings))


@pytest.fixture
def store(tmp_path: Path):
    """Two lots: one of three units from a market, one of one from a wholesaler."""
    clock = HandClock("2026-11-02T10:00:00+00:00")
    with open_store(tmp_path, clock=clock) as made:
        market = made.add_lot(Lot("", "A", "2026-11-01", cost_minor=1000, source="market", postage_minor=500))
        house = made.add_lot(Lot("", "B", "2026-11-01", cost_minor=900, source="wholesaler"))
        one, two, three = (made.add_unit(Unit("", f"A-{k}", "Plover T2", market.id)) for k in (1, 2, 3))
        four = made.add_unit(Unit("", "B-1", "Other", house.id))
        # drifts, is cleaned, passes, is sold, comes back with the same fault
        visit = made.start_visit(one.id, "intake")
        made.add_result(result(visit.id, "rest", FAIL, value=14.0))
        made.add_result(result(visit.id, "light", PASS, "south"))
        made.finish_visit(visit.id)
        made.add_treatment(Treatment("", one.id, "clean the sensor", "", minutes=20, cost_minor=40))
        clock.move(days=4)
        visit = made.start_visit(one.id, "after rest")
        made.add_result(result(visit.id, "rest", PASS, value=1.0))
        made.finish_visit(visit.id)
        sale = {
            "sold_minor": 3000,
            "sold_on": "2026-11-10",
            "channel": "market",
            "fees_minor": 300,
            "shipping_minor": 400,
        }
        made.change_unit(replace(made.unit(one.id), becomes="sold", **sale))  # type: ignore[arg-type]
        clock.move(days=16)
        made.come_back(Comeback("", one.id, "2026-11-22", "drifts", "same fault", 3000, 500))
        # light presses fail, is resoldered, passes, is sold and stays
        visit = made.start_visit(two.id, "intake")
        made.add_result(result(visit.id, "light", FAIL, "south"))
        made.finish_visit(visit.id)
        made.add_treatment(Treatment("", two.id, "resolder", "", minutes=40))
        visit = made.start_visit(two.id, "after treatment")
        made.add_result(result(visit.id, "light", PASS, "south"))
        made.finish_visit(visit.id)
        sale = {"sold_minor": 2000, "sold_on": "2026-11-21", "channel": "fair", "fees_minor": 0, "shipping_minor": 0}
        made.change_unit(replace(made.unit(two.id), becomes="sold", **sale), reason="early")  # type: ignore[arg-type]
        # is cleaned and fails again; B-1: nothing is found, it is sold in December
        visit = made.start_visit(three.id, "intake")
        made.add_result(result(visit.id, "rest", FAIL, value=12.0))
        made.finish_visit(visit.id)
        made.add_treatment(Treatment("", three.id, "clean the sensor", "", minutes=10, cost_minor=40))
        visit = made.start_visit(three.id, "after treatment")
        made.add_result(result(visit.id, "rest", FAIL, value=11.0))
        made.finish_visit(visit.id)
        visit = made.start_visit(four.id, "intake")
        made.add_result(result(visit.id, "rest", PASS, value=2.0))
        made.finish_visit(visit.id)
        sale = {"sold_minor": 1900, "sold_on": "2026-12-01", "channel": "fair", "fees_minor": 100, "shipping_minor": 0}
        made.change_unit(replace(made.unit(four.id), becomes="sold", **sale))  # type: ignore[arg-type]
        yield made


ANSWERS: dict[str, Sequence[tuple[Any, ...]]] = {
    "Which readings fail": [("Plover T2", "rest", "offset", 3)],
    "Which checks fail": [
        ("Plover T2", "rest", 2, 2, 100.0), ("Plover T2", "light", 2, 1, 50.0), ("Other", "rest", 1, 0, 0.0),
    ],
    "How often each treatment cures": [
        ("clean the sensor", "Plover T2", 2, 0, 0.0), ("resolder", "Plover T2", 1, 1, 100.0),
    ],
    "How many minutes": [("resolder", 1, 40, 40.0), ("clean the sensor", 2, 30, 15.0)],
    # by hand. A: 3000 + 2000 − 300 − 400 − 3000 − 500 − 80 − 1000 − 500 = −780, in 70 min; B: 1900 − 100 − 900
    "What lots of each source": [
        ("wholesaler", "EUR", 1, 1, 900, None), ("market", "EUR", 1, 3, -780, -669.0),
    ],
    # A-2 bears 333 of 1000 and 167 of 500
    "What was sold in each month": [
        ("2026-11", "EUR", 1, 2000, 2000 - 333 - 167), ("2026-12", "EUR", 1, 1900, 900),
    ],
    # A-1 is not sold any more, so its channel is in its return alone
    "What channels keep": [("", 1, 700, 23.3), ("fair", 2, 100, 2.6)],
    "What comes back": [("clean the sensor", "same fault", 1, 12.0, 300 + 400 + 500)],
    "How many days a unit lies": [("Other", 1, 30.0), ("Plover T2", 1, 20.0)],
}  # fmt: skip


@pytest.mark.parametrize("beginning", ANSWERS)
def test_the_questions_are_answered_as_by_hand(store: Store, beginning: str):
    assert asked(store, beginning) == list(ANSWERS[beginning])


def test_how_long_a_second_test_was_waited_for(store: Store):
    ((tag, treated, tested),) = asked(store, "How long a second test")
    assert (tag, treated[:10], tested[:10]) == ("A-1", "2026-11-02", "2026-11-06")


def test_ten_questions_stand_there_and_each_is_asked_here():
    assert len(questions()) == 10
    assert sum(any(line.startswith(begin) for begin in ANSWERS) for line in questions()) == 9


# --- the views say what the program says ----------------------------------------------------------------------------


def rows(store: Store, query: str) -> list[dict[str, Any]]:
    with store._connections.reading() as db:
        found = db.execute(query)
        names = [column[0] for column in found.description]
        return [dict(zip(names, row, strict=True)) for row in found]


@pytest.mark.parametrize("seed", range(6))
def test_the_money_of_units_is_what_the_accounts_say(tmp_path: Path, seed: int):
    rng = random.Random(seed)
    with open_store(tmp_path, clock=HandClock()) as store:
        lots: list[Lot | None] = [
            store.add_lot(
                Lot("", f"L{k}", "2026-03-01", cost_minor=rng.randint(0, 9000), currency=rng.choice(("EUR", "CHF")),
                    postage_minor=rng.randint(0, 900), expected=rng.choice((0, 0, 2, 9)))
            )
            for k in range(5)
        ]  # fmt: skip
        lots.append(None)
        for lot in lots:
            for k in range(rng.randint(0, 6)):
                cost = rng.choice((0, 0, rng.randint(1, 4000)))
                name = f"{lot.name if lot else 'X'}-{k}"
                unit = store.add_unit(Unit("", name, "P", lot.id if lot else None, cost_minor=cost))
                for _ in range(rng.randint(0, 2)):
                    money = rng.choice(("EUR", "CHF"))
                    store.add_treatment(
                        Treatment(
                            "",
                            unit.id,
                            "other",
                            "",
                            minutes=rng.randint(0, 50),
                            cost_minor=rng.randint(0, 300),
                            currency=money,
                        )
                    )
                for again in range(rng.randint(0, 2)):
                    sale = {
                        "sold_minor": rng.randint(500, 4000),
                        "fees_minor": rng.randint(0, 300),
                        "shipping_minor": 9,
                    }
                    store.change_unit(replace(store.unit(unit.id), becomes="sold", **sale))  # type: ignore[arg-type]
                    if again == 0:
                        back = store.come_back(
                            Comeback("", unit.id, "", "x", refund_minor=rng.randint(0, 500), cost_minor=7)
                        )
                        if rng.random() < 0.3:
                            store.withdraw("comeback", back.id, "another")
                            break
                if rng.random() < 0.15 and store.unit(unit.id).becomes != "sold":
                    store.withdraw("unit", unit.id, "never here")
        seen = {row["unit_id"]: row for row in rows(store, "SELECT * FROM unit_money")}
        told = 0
        for lot in lots:
            kept = [Kept(*one) for one in store.kept_of_lot(lot.id if lot else "")]
            entries = entries_of(lot, kept, 0, "EUR")
            for account in unit_accounts(lot, kept, entries):
                row, sums = seen[account.unit.id], account.sums
                told += 1
                assert row["currency"] == sums.currency
                assert [row[f"{name}_minor"] for name in ("price", "postage", "parts", "fees", "shipping")] == [
                    -sums.of(kind) for kind in ("price", "postage", "parts", "fees", "shipping")
                ]
                assert (row["sales_minor"], row["refund_minor"], row["return_minor"]) == (
                    sums.of("sale"), -sums.of("refund"), -sums.of("return"),
                )  # fmt: skip
                assert (row["minutes"], row["profit_minor"]) == (sums.minutes, sums.profit)
        assert told == len(seen)
        assert sums_of([], "EUR").profit == 0


def cured(history: UnitHistory, k: int) -> tuple[int, int]:
    """How many checks that stood as failed before the k-th treatment pass since, and fail, before the next one."""
    done = history.treatments
    start, end = done[k].at, done[k + 1].at if k + 1 < len(done) else "9"
    tries = sorted((r for r in history.results if counts(r) and not only_a_look(r)), key=lambda r: r.at)
    before = {(r.check, r.control): r.assessment.outcome for r in tries if r.at <= start}
    after = {(r.check, r.control): r.assessment.outcome for r in tries if start < r.at <= end}
    again = [after[key] for key, outcome in before.items() if outcome is FAIL and key in after]
    return again.count(PASS), again.count(FAIL)


@pytest.mark.parametrize("seed", range(4))
def test_cures_are_what_the_results_around_each_treatment_say(tmp_path: Path, seed: int):
    rng = random.Random(seed)
    with open_store(tmp_path, clock=HandClock()) as store:
        units = [store.add_unit(Unit("", f"A-{k}", "P")) for k in range(6)]
        for unit in units:
            for last in (*[False] * rng.randint(1, 3), True):
                visit = store.start_visit(unit.id, "intake")
                for _ in range(rng.randint(0, 5)):
                    check, control = rng.choice(("rest", "light", "travel")), rng.choice(("left_stick", "south"))
                    tried = result(visit.id, check, rng.choice((FAIL, PASS, NEAR)), control)
                    again = Assessment(tried.assessment.outcome, (), (), rng.choice(("", "", "moved")))
                    store.add_result(replace(tried, assessment=again))
                store.finish_visit(visit.id)
                if not last:
                    store.add_treatment(Treatment("", unit.id, rng.choice(("resolder", "other")), ""))
        seen = {row["treatment_id"]: row for row in rows(store, "SELECT * FROM cures")}
        for unit in units:
            history = store.history(unit.id)
            for k, treatment in enumerate(history.treatments):
                row = seen.pop(treatment.id)
                assert (row["passed"], row["failed"]) == cured(history, k)
                expected = 1 if row["passed"] else 0 if row["failed"] else None
                assert row["cured"] == expected
        assert seen == {}


def test_a_cure_is_seen_where_the_clock_gives_one_millisecond_for_everything(tmp_path: Path):
    with open_store(tmp_path, clock=lambda: parse_time("2026-03-06T10:00:00.000Z")) as store:
        unit = store.add_unit(Unit("", "A-1", "P"))
        store.add_result(result(store.start_visit(unit.id, "intake").id, "rest", FAIL, "left_stick"))
        store.add_treatment(Treatment("", unit.id, "resolder", ""))
        store.add_result(result(store.start_visit(unit.id, "after treatment").id, "rest", PASS, "left_stick"))
        assert [row["cured"] for row in rows(store, "SELECT cured FROM cures")] == [1]
