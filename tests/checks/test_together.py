"""Held together: contacts that hide each other or make a third one appear, and hands that only look like it."""

from __future__ import annotations

import numpy as np
import pytest

from station.capture.types import Capture
from station.checks.said import sentence
from station.checks.takes import take_between
from station.checks.together import Together
from station.checks.types import Assessment, Outcome
from station.hid.descriptor import parse_descriptor
from station.judgement.limits import in_force
from station.measure.contacts import Closures
from station.measure.together import hidings, phantoms, seen_together, taps
from station.sheets.bind import bind
from station.sheets.model import Control, Sheet
from station.sheets.signals import ButtonSignal, HatSignal
from station.sources.simulated import Item, PadDesign, SimulatedHand, UnitSpec, faults, make_capture
from station.sources.simulated.faults import Fault, expected
from tests.checks.button_moves import MS, contact, polls

LEFT = Control("left_shoulder", "button", "Left shoulder", "top")
RIGHT = Control("right_shoulder", "button", "Right shoulder", "top")
SOUTH = Control("south", "button", "South button", "right hand")
EAST = Control("east", "button", "East button", "right hand")
HAT = Control("hat", "hat", "Hat", "left hand")
CHECK = Together()


def spans(*pairs: tuple[float, float]) -> Closures:
    start, end = np.array(pairs, dtype=np.float64).T * MS if pairs else (np.zeros(0), np.zeros(0))
    return Closures(start.astype(np.int64), end.astype(np.int64))


def assess(sheet: Sheet, closed: dict[str, list[tuple[float, float]]], end_ms: float = 21_000.0) -> Assessment:
    signals = {name: contact(some, end_ms) for name, some in closed.items()}
    take = take_between(sheet, signals, 0, int(end_ms * MS), polls(int(end_ms * MS)))
    return CHECK.assess(take, in_force(sheet))


def value(assessment: Assessment, name: str) -> float | None:
    return next(r.value for r in assessment.readings if r.name == name)


# --- the counts ---------------------------------------------------------------------------------------------


def test_closed_together_for_longer_than_two_edges_that_cross() -> None:
    one, other, brief = spans((0, 500)), spans((400, 900)), spans((850, 1200))
    assert seen_together({"a": one, "b": other, "c": brief}) == {frozenset("ab")}


def test_hidden_at_both_ends_at_one_and_not_at_all() -> None:
    held = spans((0, 1000), (1200, 2000), (2500, 3000))
    found = hidings({"held": held, "other": spans((1000, 1200), (2000, 2300), (2600, 2800))})
    (one,) = [h for h in found if h.hidden == "held"]
    assert one.lasted_ns == 200 * MS
    assert (one.full, one.half, one.beside) == (1, 1, 1)


def test_a_phantom_comes_with_the_last_and_goes_with_the_first_of_those_that_are_held() -> None:
    a, b = spans((0, 1000), (3000, 4000)), spans((200, 400), (600, 800), (1500, 1700), (3200, 3400))
    (found,) = phantoms({"a": a, "b": b, "c": spans((205, 402), (601, 803), (3203, 3395))})
    assert (found.who, found.held, found.near) == ("c", ("a", "b"), ("b",))
    assert (found.times, found.chances, found.without) == (3, 3, True)


def test_a_phantom_that_a_finger_holds_on_is_one_all_the_same() -> None:
    """It comes each time that the last of its causes closes; the last time a finger holds it until after they open."""
    a, b = spans((2000, 6000)), spans((0, 500), (2200, 2400), (2600, 2800), (3200, 6500))
    (found,) = phantoms({"a": a, "b": b, "c": spans((2205, 2402), (2601, 2803), (3203, 9000))})
    assert (found.who, found.times, found.chances) == ("c", 2, 2)


def test_what_appears_with_either_of_two_was_not_pressed() -> None:
    """Each cause is tapped twice with the other held; each of them looks like a phantom of the one that appears."""
    a = spans((0, 1500), (2000, 2100), (2300, 2400), (2600, 5000))
    b = spans((0, 500), (700, 800), (1000, 1100), (1300, 5000))
    c = spans((0, 500), (703, 801), (1003, 1101), (1303, 1500), (2003, 2101), (2303, 2401), (2603, 9000))
    (found,) = phantoms({"a": a, "b": b, "c": c})
    assert (found.who, found.near) == ("c", ("a", "b"))


def test_a_hand_that_lies_flat_is_no_phantom() -> None:
    flat = {name: spans((5.0 * k, 500.0 + k)) for k, name in enumerate("abcd")}
    assert not phantoms({**flat, "held": spans((-800, 3000))})


def test_a_tap_begins_and_ends_while_the_other_is_held() -> None:
    assert taps(spans((100, 200), (300, 400), (900, 1100)), spans((0, 1000))) == 2


# --- the check ----------------------------------------------------------------------------------------------

TWO = Sheet("Plover T2", controls=(LEFT, SOUTH))
TAPS = [(1000.0 + 500 * k, 1200.0 + 500 * k) for k in range(4)]


def without(whole: tuple[float, float], holes: list[tuple[float, float]]) -> list[tuple[float, float]]:
    edges = [whole[0], *(e for hole in holes for e in hole), whole[1]]
    return list(zip(edges[::2], edges[1::2], strict=True))


def test_what_opens_and_closes_with_another_twice_vanishes() -> None:
    found = assess(TWO, {"left_shoulder": without((500, 4000), TAPS), "south": TAPS})
    assert found.outcome is Outcome.FAIL
    assert [sentence("together", f) for f in found.findings] == ["left shoulder is not seen while south button is held"]


def test_of_two_that_come_by_turns_the_one_that_is_held_is_hidden() -> None:
    """The last tap goes on after the hidden one was let go under it, so that both change as often."""
    pieces = [*without((500, 2500), TAPS)[:-1], (2700.0, 3400.0)]
    taps_, last = TAPS, (3400.0, 6000.0)
    found = assess(TWO, {"left_shoulder": pieces, "south": [*taps_, last]})
    assert [sentence("together", f) for f in found.findings] == ["left shoulder is not seen while south button is held"]


def test_what_is_seen_only_as_another_is_let_go_vanishes_too() -> None:
    held = [(1000.0, 2000.0), (3000.0, 4000.0)]
    found = assess(TWO, {"left_shoulder": held, "south": [(2010, 2500), (4010, 4500)]})
    assert [f.code for f in found.findings] == ["vanishes"]


def test_once_may_have_been_the_hand() -> None:
    found = assess(TWO, {"left_shoulder": [(500, 2000)], "south": [(2010, 2500)]})
    assert found.again.startswith("again, please: once more with the tips of two fingers")
    later = assess(TWO, {"left_shoulder": [(500, 2000), (5000, 8000)], "south": [(2010, 2500), (6000, 6300)]})
    assert (later.again, later.findings) == ("", ())


def test_a_thumb_that_rolls_from_one_button_to_the_next_hides_nothing() -> None:
    sheet = Sheet("Plover T2", controls=(SOUTH, EAST))
    rolls = assess(sheet, {"south": [(500, 1000), (1400, 2000)], "east": [(1010, 1390), (2010, 2500)]}, 9000.0)
    assert rolls.again
    assert not rolls.findings
    held = {"south": [(500, 1000), (1400, 2000), (5000, 6000)], "east": [(1010, 1390), (2010, 2500), (5200, 5400)]}
    assert assess(sheet, held).outcome is Outcome.PASS


def test_pairs_that_were_not_seen_are_said_and_not_assumed() -> None:
    sheet = Sheet("Plover T2", controls=(LEFT, RIGHT, SOUTH))
    closed = {"left_shoulder": [(500, 4000)], "right_shoulder": [(700.0, 3000.0)], "south": [(3300.0, 3600.0)]}
    assert assess(sheet, closed, 9000.0).again  # too soon to give up
    found = assess(sheet, closed)
    assert (found.outcome, found.findings, value(found, "unseen")) == (Outcome.BORDERLINE, (), 1.0)
    (reason,) = (r.reason for r in found.readings if r.name == "unseen")
    assert reason.endswith("; not seen together: right shoulder with south button")


def test_opposite_sides_of_a_hat_are_never_asked_for() -> None:
    sheet = Sheet("Plover T2", controls=(HAT, LEFT))
    t_ns = np.arange(0, 9) * 500 * MS
    hat = HatSignal(t_ns, np.array([-1, 0, -1, 2, -1, 4, -1, 6, -1], dtype=np.int8))
    shoulder = ButtonSignal(np.array([0, 200 * MS, 8000 * MS]), np.array([False, True, False]))
    take = take_between(sheet, {"hat": hat, "left_shoulder": shoulder}, 0, 9000 * MS, polls(9000 * MS))
    readings = {r.name: r for r in CHECK.progress(take, in_force(sheet)).readings}
    assert (readings["pairs"].value, readings["pairs"].n, readings["unseen"].value) == (4.0, 4, 0.0)


def test_a_pad_whose_places_nobody_knows_is_judged_by_what_was_held() -> None:
    controls = tuple(Control(f"button_{k}", "button", f"Button {k}") for k in range(1, 5))
    sheet = Sheet("Device", controls=controls, drawn_up=True)
    held = {f"button_{k}": [(500.0 + 200 * k, 3000.0 + 300 * k)] for k in range(1, 5)}
    assert assess(sheet, held).outcome is Outcome.PASS
    assert assess(sheet, {"button_1": [(500, 900)], "button_2": [(1500, 1900)]}).again


@pytest.mark.parametrize("controls", [(), (SOUTH,), (HAT,)], ids=["nothing", "one button", "one hat"])
def test_it_needs_two_controls(controls: tuple[Control, ...]) -> None:
    assert not CHECK.applies(None, Sheet("Plover T2", controls=controls))


# --- simulated units ----------------------------------------------------------------------------------------


def recorded(fault: Fault | None, goes: int) -> Assessment:
    from sample_units.make import sheet_of

    design = PadDesign("8bit", 250)
    spec = UnitSpec(design, 3, (fault,) if fault else ())
    hand = SimulatedHand(0.8, 3)
    capture: Capture = make_capture(spec, hand, [Item("together") for _ in range(goes)], pause_s=0.01)
    sheet = sheet_of(design)
    signals = bind(sheet, parse_descriptor(design.descriptor)).signals(capture.block)
    take = take_between(sheet, signals, 0, int(capture.block.t_ns[-1]), capture.block.t_ns)
    return CHECK.assess(take, in_force(sheet))


@pytest.mark.parametrize(
    ("fault", "goes"),
    [
        (None, 1),
        (faults.hidden("left_shoulder", "south"), 1),
        (faults.hidden("south", "left_shoulder"), 2),
        (faults.phantom("north", "south", "left_shoulder"), 1),
        (faults.phantom("right_paddle", "left_shoulder", "east"), 1),
    ],
    ids=["sound", "a held one vanishes", "one never shows beside a held one", "phantom", "phantom at the back"],
)
def test_simulated_units(fault: Fault | None, goes: int) -> None:
    found = recorded(fault, goes)
    if fault is None:
        assert (found.outcome, found.findings, found.again) == (Outcome.PASS, (), "")
        return
    assert [f.code for f in found.findings] == [expected(fault).code]
    assert found.outcome is Outcome.FAIL
