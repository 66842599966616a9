"""Readings, limits and findings in words: one name and one rule of digits for window, certificate and `assess`."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from station import SAMPLE_UNITS
from station.checks.base import finding
from station.checks.registry import described, finding_kind
from station.checks.said import (
    bare_value,
    limit_text,
    limits_text,
    reading_name,
    reading_names,
    sentence,
    sentence_of,
    value_text,
    verdict_text,
)
from station.checks.types import Finding, Reading
from station.evidence.assess import assess_file
from station.words.figures import Style

NB = "\N{NO-BREAK SPACE}"
GERMAN = Style(decimal=",", group=".")


@pytest.mark.parametrize(
    ("check", "reading", "text"),
    [
        pytest.param("travel", Reading("reach_up", 95.13, "%", 0.28), "95.13 ± 0.28 %", id="was 95 ± 0.3 beside 95.13"),
        pytest.param("hold", Reading("held", 5.0653, "s", 0.0041), "5.0653 ± 0.0041 s", id="was 5.07 ± 0.00"),
        pytest.param("letgo", Reading("settle_time", 1234, "ms", 2.3), "1,234.0 ± 2.3 ms", id="was 1,234 ± 2.3"),
        pytest.param("rest", Reading("offset", 10.234, "%", 0.31), "10.23 ± 0.31 %", id="two figures"),
        pytest.param("travel", Reading("creep", 123.4, "ms", 12.0), "123 ± 12 ms", id="whole numbers above 10"),
        pytest.param("light", Reading("missed", 3.0, ""), "3", id="a count is whole"),
        pytest.param("light", Reading("missed", 3.0, "count"), "3", id="a count of an older record"),
        pytest.param("sweep", Reading("spikes_x", 1234.0, ""), "1,234", id="a large count"),
        pytest.param("light", Reading("miss_rate_upper", 9.2112, "%"), "9.2 %", id="the digits of its description"),
        pytest.param("hold", Reading("longest_dropout", 0.0, "ms"), "0.0 ms", id="no dropout, no uncertainty"),
        pytest.param("charge", Reading("vbus_low", 4.976, "V", 0.03), "4.976 ± 0.030 V", id="a meter"),
        pytest.param("rest", Reading("offset_x", -1.25, "%", 0.4), "−1.25 ± 0.40 %", id="a real minus sign"),
        pytest.param("gone", Reading("wobble", 2.0, "%"), "2.0 %", id="a check that is no more"),
    ],
)
def test_a_value_has_the_digits_that_its_uncertainty_carries(check: str, reading: Reading, text: str) -> None:
    assert value_text(check, reading) == text.replace(" %", NB + "%").replace(" s", NB + "s").replace(
        " ms", NB + "ms"
    ).replace(" V", NB + "V")


def test_a_value_that_could_not_be_had_says_why() -> None:
    assert value_text("sweep", Reading("gap_x", None, "%", reason="swept too fast")) == "swept too fast"
    assert value_text("sweep", Reading("gap_x", None, "%")) == "no value"
    assert bare_value("sweep", Reading("gap_x", None, "%")) == ""


def test_the_bare_value_stands_at_the_same_place() -> None:
    reading = Reading("reach_up", 95.134, "%", 0.28)
    assert bare_value("travel", reading, unit=False) == "95.13"
    assert bare_value("travel", reading, GERMAN) == f"95,13{NB}%"
    assert value_text("travel", reading, GERMAN) == f"95,13 ± 0,28{NB}%"


@pytest.mark.parametrize(
    ("check", "name", "words"),
    [
        ("rest", "offset", "off centre"),
        ("rest", "noise_pp_x", "noise, peak to peak, horizontal"),
        ("travel", "reach_left", "reach, left"),
        ("rim", "circle_x", "circle, centre, horizontal"),
        ("light", "miss_rate_upper", "missed presses, at most"),
        ("firm_press", "short", "too short"),
        ("charge", "vbus_high", "supply, upper end"),
        ("smell", "voltage", "voltage"),
        ("gone", "new_thing_up", "new thing, up"),
        ("gone", "new_thing", "new thing"),
    ],
)
def test_a_reading_has_one_name(check: str, name: str, words: str) -> None:
    assert reading_name(check, name) == words


def test_a_name_gets_shorter_where_room_is_short() -> None:
    assert reading_names("rest", "noise_pp_x") == (
        "noise, peak to peak, horizontal",
        "noise, peak to peak, horiz.",
        "noise, p-p, horiz.",
    )


def test_the_same_reading_is_called_the_same_in_every_check() -> None:
    names: dict[str, set[str]] = {}
    for about in described().values():
        for kind in about.readings:
            names.setdefault(kind.name, set()).add(kind.words)
    assert {name: words for name, words in names.items() if len(words) > 1} == {}


@pytest.mark.parametrize(
    ("reading", "short", "whole"),
    [
        (Reading("offset", 1, "%", 0, 5, 10, "<="), "≤ 5", "≤ 5 · fails > 10"),
        (Reading("reach_up", 99, "%", 0, 95, 88, ">="), "≥ 95", "≥ 95 · fails < 88"),
        (Reading("noise_pp_x", 1, "%", 0, 1.5, 4, "<="), "≤ 1.5", "≤ 1.5 · fails > 4"),
        (Reading("registered", 3, "count", 0, 3, 3, ">="), "≥ 3", "≥ 3"),
        (Reading("registered", 3, "", 0, 3, 2.5, ">="), "≥ 3", "≥ 3"),
        (Reading("spikes_x", 0, "", 0, 0, 2, "<="), "≤ 0", "≤ 0 · fails > 2"),
        (Reading("offset_x", 3, "%"), "", ""),
    ],
    ids=["upper", "lower", "with its digits", "both the same", "a count between", "a count with room", "no limit"],
)
def test_a_limit_in_words(reading: Reading, short: str, whole: str) -> None:
    assert limit_text(reading) == short.replace("≤ ", "≤" + NB).replace("≥ ", "≥" + NB)
    assert limits_text(reading) == whole.replace("≤ ", "≤" + NB).replace("≥ ", "≥" + NB)


def test_assess_calls_a_reading_by_its_name() -> None:
    """It printed the id, "noise pp x 4.6 ± 0.12 %, should be at most 1.5 %"."""
    reading = Reading("noise_pp_x", 4.603, "%", 0.12, 1.5, 4.0)
    assert verdict_text("rest", reading) == (
        f"noise, peak to peak, horizontal 4.60 ± 0.12{NB}%, should be at most 1.5{NB}%"
    )
    assert verdict_text("rest", Reading("offset_x", 1.2, "%")) == f"off centre, horizontal 1.2{NB}%"


def test_a_finding_from_before_parameters_says_what_was_written_down() -> None:
    assert sentence("rest", Finding("offset", "left stick: rests 8.3 % off centre")) == (
        "left stick: rests 8.3 % off centre"
    )


def test_a_finding_is_said_from_its_parameters_whatever_was_written_down() -> None:
    found = Finding("offset", "old words", "x", 93.0, {"who": "left stick", "offset": 8.3, "angle": 93.2})
    assert sentence("rest", found) == "left stick: rests 8.3 % off centre, to the right"
    assert sentence("rest", found, GERMAN) == "left stick: rests 8,3 % off centre, to the right"


@pytest.mark.parametrize(
    ("uncertainty", "said"),
    [(0.040, "7.033"), (1.2, "7.0"), (0.0, "7.0"), (math.inf, "7.0")],
    ids=["finer than one place", "as fine", "none", "endless"],
)
def test_a_finding_says_its_value_to_the_place_of_the_reading(uncertainty: float, said: str) -> None:
    """It was "noise of 7.0 %" above "7.033 ± 0.040 %"."""
    reading = Reading("noise_pp_x", 7.033, "%", uncertainty, 1.5, 4.0)
    found = finding("noise", "left stick", {"noise": reading}, axis="x")
    assert sentence("rest", found) == f"left stick, horizontal: noise of {said} % peak to peak at rest"
    assert bare_value("rest", reading, unit=False) == said


def test_a_parameter_that_is_a_reading_names_one_of_its_check() -> None:
    for check, about in described().items():
        named = {show for kind in about.findings for show in kind.shown.values() if isinstance(show, str)}
        assert named <= {kind.name for kind in about.readings}, check


@pytest.mark.parametrize("unit", sorted(SAMPLE_UNITS.glob("*.npz")), ids=lambda path: path.stem)
def test_no_sentence_has_another_figure_than_the_reading_beside_it(unit: Path) -> None:
    for c in assess_file(unit).checks:
        shown = {bare_value(c.check, reading, unit=False) for reading in c.assessment.readings}
        for found in c.assessment.findings:
            kind = finding_kind(c.check, found.code)
            assert kind is not None
            for name in (n for n, show in kind.shown.items() if isinstance(show, str) and n in found.params):
                says = replace(kind, says="{" + name + "}")
                assert sentence_of(c.check, says, found) in shown, f"{c.check}: {sentence(c.check, found)}"


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_a_value_that_is_no_number_is_no_value(value: float) -> None:
    reading = Reading("offset", value, "%", 0.3, 5.0, 10.0)
    assert (value_text("rest", reading), bare_value("rest", reading)) == ("no value", "")
    assert verdict_text("rest", reading) == f"off centre no value, should be at most 5{NB}%"


@pytest.mark.parametrize("uncertainty", [math.inf, math.nan, -1.0, 5e-324])
def test_an_uncertainty_that_says_nothing_is_left_out(uncertainty: float) -> None:
    reading = Reading("offset", 0.0996, "%", uncertainty, 5.0, 10.0)
    assert value_text("rest", reading) == bare_value("rest", reading) == f"0.1{NB}%"


@pytest.mark.parametrize(
    "found",
    [
        Finding("wobble", "left stick: wobbles", params={"who": "left stick"}),
        Finding("offset", "left stick: wobbles", params={"offset": "far"}),
        Finding("noise", "left stick: wobbles", params={"who": "left stick"}),
    ],
    ids=["a code that is not known", "a parameter of another kind", "a parameter that is missing"],
)
def test_a_finding_of_another_version_still_says_something(found: Finding) -> None:
    assert sentence("rest", found) == "left stick: wobbles"


def test_a_finding_without_any_words_says_its_code() -> None:
    assert sentence("gone", Finding("odd_thing", params={"who": "left stick"})) == "left stick: odd thing"
    assert sentence("gone", Finding("odd_thing")) == "odd thing"
