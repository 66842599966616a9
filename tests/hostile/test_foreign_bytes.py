"""A few hundred damaged inputs for every reader of foreign bytes, new ones each time; tests/bench/fuzz.py runs more."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from random import Random

import pytest

from station.errors import InputError, SheetError
from tests.bench import fuzz

CASES = 300


@pytest.fixture(autouse=True)
def _hangs_are_ended() -> Iterator[None]:
    if not hasattr(signal, "SIGVTALRM"):
        pytest.skip("hangs are ended by a signal that this system does not have")
    before = signal.signal(signal.SIGVTALRM, fuzz.stop)
    yield
    signal.signal(signal.SIGVTALRM, before)


@pytest.mark.parametrize("name", fuzz.TARGETS)
def test_damaged_input_gives_errors_of_our_own_family_in_bounded_time(name: str) -> None:
    seed = Random().randrange(2**32)
    outcomes, _, found = fuzz.run(fuzz.TARGETS[name], CASES, Random(f"{seed} {name}"))
    assert not found, f"python tests/bench/fuzz.py --target {name} --cases {CASES} --seed {seed}: {found[0][:2000]}"
    assert sum(outcomes.values()) == CASES


def test_a_descriptor_of_very_many_fields_is_read_in_bounded_time() -> None:
    """16,384 fields of one bit in one short item: whatever compares each with each takes minutes."""
    many = bytes.fromhex("05 01 09 05 A1 01 75 01 96 00 40 15 00 25 01 81 02 C0")
    outcomes, slowest, found = fuzz.run(fuzz.Target(fuzz.read_descriptor, (lambda _: many,)), 1, Random(1))
    assert not found
    assert outcomes == {"read": 1}, slowest


def test_an_axis_of_one_bit_without_a_range_is_refused_in_a_sentence() -> None:
    with pytest.raises(SheetError, match="gives X no range"):
        fuzz.read_descriptor(bytes.fromhex("05 01 09 05 A1 01 A4 09 30 15 00 75 01 95 01 81 02 C0"))


def _crash(_: bytes) -> None:
    raise IndexError("beyond the end")


def _without_a_sentence(_: bytes) -> None:
    raise InputError("")


def _hang(_: bytes) -> None:
    while True:
        pass


@pytest.mark.parametrize(
    ("read", "outcome"), [(_crash, "crash"), (_without_a_sentence, "error without a sentence"), (_hang, "hang")]
)
def test_a_reader_that_fails_is_found(
    monkeypatch: pytest.MonkeyPatch, read: Callable[[bytes], None], outcome: str
) -> None:
    monkeypatch.setattr(fuzz, "LIMIT_S", 0.005)
    outcomes, _, found = fuzz.run(fuzz.Target(read, (fuzz.anything,)), 3, Random(1))
    assert outcomes == {outcome: 3}
    assert len(found) == 3
