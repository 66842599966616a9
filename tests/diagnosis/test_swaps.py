"""Isolation by swaps: the documentation's worked example (lever, little board, housing) and the choice of swaps."""

from __future__ import annotations

from itertools import combinations

import pytest

from station.diagnosis.swaps import SwapPart, SwapSearch

LEVER = SwapPart("lever", "lever", 2.0, 4.0, 0.02)
BOARD = SwapPart("board", "little board", 5.0, 8.0, 0.05)
HOUSING = SwapPart("housing", "housing", 1.0, 15.0, 0.02)
EXAMPLE = SwapSearch((LEVER, BOARD, HOUSING), sees=0.95)


def test_the_worked_example_of_the_documentation():
    """A shoulder button misses light presses. docs/diagnosis.md tells the same story with these figures."""
    assert EXAMPLE.weights() == pytest.approx({"lever": 0.25, "board": 0.625, "housing": 0.125}, abs=1e-12)
    first = EXAMPLE.next_swap()
    assert first is not None
    assert first.text == "put in the donor's lever; then test again"
    assert (round(first.bits, 2), first.minutes) == (0.61, 8.0)
    assert round(EXAMPLE.bits_of(frozenset({"board"})), 2) == 0.68  # tells a little more, but takes 12 minutes

    still = EXAMPLE.after({"lever"}, fault=True)
    assert {k: round(w, 3) for k, w in still.weights().items()} == {"lever": 0.007, "board": 0.828, "housing": 0.166}
    second = still.next_swap()
    assert second is not None
    assert second.swapped == {"lever", "board"}
    assert second.text == "put in the donor's little board; then test again"

    gone = still.after({"lever", "board"}, fault=False)
    assert {k: round(w, 3) for k, w in gone.weights().items()} == {"lever": 0.0, "board": 0.989, "housing": 0.011}
    assert gone.verdict() == BOARD
    assert gone.next_swap() is None


def test_a_cheap_swap_is_preferred_to_a_dear_one_that_tells_as_much():
    alike = SwapSearch((SwapPart("a", "a", 1, 5), SwapPart("b", "b", 1, 20)))
    advice = alike.next_swap()
    assert advice is not None
    assert advice.swapped == {"a"}


def test_the_proposed_swap_tells_most_per_minute_of_all_sets():
    parts = tuple(SwapPart(str(i), str(i), 1 + i % 3, 3 + 2 * i, 0.03) for i in range(5))
    search = SwapSearch(parts, sees=0.9).after({"1"}, fault=True)
    advice = search.next_swap()
    assert advice is not None
    for n in range(6):
        for chosen in combinations([p.part_id for p in parts], n):
            swapped = frozenset(chosen)
            minutes = 4 + sum(p.minutes for p in parts if (p.part_id in swapped) != (p.part_id == "1"))
            assert search.bits_of(swapped) / minutes <= advice.bits / advice.minutes + 1e-9


def test_a_fault_that_stays_after_every_part_was_swapped_is_no_contradiction_a_donor_may_be_bad():
    search = EXAMPLE
    for swapped in ({"lever"}, {"lever", "board"}, {"lever", "board", "housing"}):
        search = search.after(swapped, fault=True)
    assert not search.contradictory
    assert sum(search.weights().values()) == pytest.approx(1.0)


def test_an_intermittent_fault_needs_more_than_one_clean_test():
    rare = SwapSearch((SwapPart("a", "a", 1, 5, 0.0), SwapPart("b", "b", 1, 5, 0.0)), sees=0.3)
    once = rare.after({"a"}, fault=False).weights()["a"]
    thrice = rare.after({"a"}, fault=False).after({"a"}, fault=False).after({"a"}, fault=False).weights()["a"]
    assert 0.5 < once < 0.6
    assert once < thrice < 0.8


def test_putting_its_own_part_back_is_said():
    swapped = SwapSearch((LEVER, BOARD, HOUSING), sees=0.5).after({"board"}, fault=False)
    advice = swapped.next_swap()
    assert advice is not None
    assert advice.text.endswith("then test again")
    back = SwapSearch((SwapPart("a", "a", 1, 0.1, 0.4), SwapPart("b", "b", 1, 90, 0.0)), sees=0.95).after(
        {"a"}, fault=True
    )
    assert "put its own a back" in back._text(frozenset(), frozenset({"a"}))


def test_nothing_more_to_learn_gives_no_advice():
    sure = SwapSearch((SwapPart("a", "a", 1, 5, 0.0), SwapPart("b", "b", 1, 5, 0.0)), sees=1.0).after(
        {"a"}, fault=False
    )
    assert sure.weights() == {"a": 1.0, "b": 0.0}
    assert sure.next_swap() is None


def test_tests_that_contradict_each_other_are_noticed():
    sure = SwapSearch((SwapPart("a", "a", 1, 5, 0.0), SwapPart("b", "b", 1, 5, 0.0)), sees=1.0)
    torn = sure.after({"a"}, fault=True).after({"b"}, fault=True)
    assert torn.contradictory
    assert torn.weights() == {"a": 0.0, "b": 0.0}
    assert torn.next_swap() is None


@pytest.mark.parametrize("n", [0, 9])
def test_how_many_parts_it_takes(n: int):
    with pytest.raises(ValueError, match="one to 8"):
        SwapSearch(tuple(SwapPart(str(i), str(i), 1, 1) for i in range(n)))
