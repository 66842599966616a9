"""The figures of docs/METHOD.md come from the commands that stand beside them."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import numpy as np
import pytest

from station.checks.light import LightCheck
from station.measure import sequential
from station.words import checks as words
from station.words import unseen

DOCS = Path(__file__).resolve().parents[2] / "docs"


def page(name: str):
    """A script of docs/ as a module."""
    spec = importlib.util.spec_from_file_location(name, DOCS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def plan_page():
    """docs/light_press_plan.py as a module."""
    return page("light_press_plan")


@pytest.mark.parametrize("phrase", page("method_figures").figures())
def test_what_follows_by_computation_stands_as_the_command_prints_it(phrase: str) -> None:
    assert phrase in (DOCS / "METHOD.md").read_text(encoding="utf-8")


def test_the_table_of_the_light_press_is_the_one_that_the_command_prints(plan_page):
    method = (DOCS / "METHOD.md").read_text(encoding="utf-8")
    assert "\n".join(plan_page.table()) in method


def test_the_worst_coverage_of_the_bound_is_the_one_that_the_command_prints(plan_page):
    assert plan_page.least_coverage() in (DOCS / "METHOD.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("figures", ["twins_table", "runs_table", "seen_of_runs", "seen_once_in", "with_other_presses"])
def test_what_is_said_of_runs_is_what_the_command_prints(plan_page, figures):
    said = getattr(plan_page, figures)()
    assert (said if isinstance(said, str) else "\n".join(said)) in (DOCS / "METHOD.md").read_text(encoding="utf-8")


def test_what_the_card_says_of_the_long_form_is_what_the_bench_measured(plan_page):
    """Within three points of the exact chain, since the check voids what comes before the first press."""
    method, guide = ((DOCS / name).read_text(encoding="utf-8") for name in ("METHOD.md", "GUIDE.md"))
    said = re.search(r"it finds (\d+) in 100, the light press (\d+)\.", words.LONG_SEES)
    assert said is not None
    assert said[0] in guide
    assert f"it was {said[2]} % of" in method
    assert f"and {said[1]} % of" in method
    row = next(row for row in plan_page.runs_table() if row.startswith("| 4 "))
    quick, long = (100 - float(cell.strip(" %")) for cell in (row.split("|")[2], row.split("|")[4]))
    assert float(said[2]) == pytest.approx(quick, abs=3)
    assert float(said[1]) == pytest.approx(long, abs=3)


def test_what_the_card_says_of_contacts_that_stay_closed_is_what_the_command_prints(plan_page):
    figures = r"(\d+) presses\D+(\d+) %\D+(\d+)\D+(\d+) %"
    said, printed = re.findall(r"\d+", unseen.PRESS_STAYS), re.findall(r"\d+", plan_page.seen_once_in())
    assert re.search(figures, unseen.PRESS_STAYS)
    assert said == printed


@pytest.mark.parametrize("p", [0.01, 0.05, 0.2])
def test_the_endings_add_up_to_the_characteristic(plan_page, p):
    plan = plan_page.plan_of(plan_page.load_limits())
    ends = plan_page.endings(plan, p)
    assert sum(ends.values()) == pytest.approx(1.0)
    mean = sum(n * w for (n, _), w in ends.items())
    assert mean == pytest.approx(plan_page.characteristic(plan, p).mean_presses)


@pytest.mark.parametrize(("p", "twin"), [(0.1, 0.0), (0.1, 0.4), (0.01, 0.6)])
def test_what_a_twin_that_misses_makes_of_it_is_what_drawn_presses_give(plan_page, p, twin):
    """20,000 drawn tests, press by press."""
    rng, units = np.random.default_rng(8), 20_000
    plan, alone = plan_page.plan_of(plan_page.load_limits()), LightCheck(alone=True)._plan(plan_page.load_limits())
    ends = {"pass": 0, "fail": 0, "alone": 0}
    for _ in range(units):
        missed, beside = rng.random((2, 60)) < np.array([[p], [twin]])
        end = _first_look(plan, missed, beside)
        if end == "alone":
            ends["alone"] += 1
            again = sequential.run(alone, (rng.random(alone.stop_at) < p).tolist())[0]
            end = {"accept": "pass", "reject": "fail"}.get(again, "")
        if end:
            ends[end] += 1
    exact = plan_page.beside_twin(p, twin)
    for share, count in zip(exact, (ends["pass"], ends["fail"], ends["alone"]), strict=True):
        assert count / units == pytest.approx(share, abs=0.0005 + 4.0 * np.sqrt(share * (1.0 - share) / units))


def _first_look(plan, missed, beside) -> str:
    """Beat by beat: fails by the beats that were surely pressed, passes if it had missed the others too."""
    n = sure = neither = 0
    sure_passes = False
    for mine, twins in zip(missed.tolist(), beside.tolist(), strict=True):
        n, sure, neither = n + 1, sure + (mine and not twins), neither + (mine and twins)
        if sure >= plan.slope * (n - neither) + plan.h_reject:
            return "fail"
        if sure + neither <= plan.slope * n - plan.h_accept:
            return "pass"
        if neither >= plan.slope * n + plan.h_reject:
            return "alone"
        sure_passes = sure_passes or sure <= plan.slope * (n - neither) - plan.h_accept
    return "alone" if sure_passes else ""


MADE = re.compile(r"simulat|Monte Carlo|[Mm]easured on|Coverage o[fn]|\bcomputed (over|from)|: computed|drawn tries")
"""what a figure is called that did not come from a formula"""
COMMAND = re.compile(r"`(?:python )?(?:tests|docs)/[\w/]+\.py")


def test_what_was_simulated_names_the_command_or_says_that_there_is_none() -> None:
    lines = (DOCS / "METHOD.md").read_text(encoding="utf-8").splitlines()
    made = [line for line in lines if MADE.search(line) and re.search(r"\d", line) and not line.startswith("|")]
    bare = [line[:90] for line in made if not COMMAND.search(line) and "no command of the tree prints it" not in line]
    assert not bare
