"""What is taken for a scanner and what for a hand, by the times alone."""

from __future__ import annotations

from itertools import accumulate

import pytest

from station.ui.bursts import HOLD_MS, LEAST_SIGNS, TAIL_MS, UNENDED_SIGNS, Bursts, Kind, Tag


def kind_of(sign: str) -> Kind:
    return {"\r": "end", "\t": "end", "^": "modifier", "!": "other", "\n": "control"}.get(sign, "sign")  # type: ignore[return-value]


def run(signs: str, gaps_ms: list[float]) -> tuple[str, list[Tag]]:
    """What was played back or let through, in order, and the tags; silence follows wherever it was long enough."""
    bursts: Bursts[str] = Bursts()
    played, tags = "", []
    for k, (sign, at_ms) in enumerate(zip(signs, accumulate(gaps_ms), strict=True)):
        if k and gaps_ms[k] > HOLD_MS and bursts.waiting:
            verdict = bursts.silence()
            played += "".join(verdict.play)
            tags += [verdict.tag] if verdict.tag else []
        verdict = bursts.press(at_ms, kind_of(sign), sign if kind_of(sign) == "sign" else "", sign)
        played += "".join(verdict.play) + ("" if verdict.taken else sign)
        tags += [verdict.tag] if verdict.tag else []
    verdict = bursts.silence()
    return (played + "".join(verdict.play)).replace("^", ""), tags + ([verdict.tag] if verdict.tag else [])


def even(signs: str, gap_ms: float) -> tuple[str, list[Tag]]:
    return run(signs, [gap_ms] * len(signs))


@pytest.mark.parametrize("gap_ms", [1.0, 8.0, 20.0, 30.0])
@pytest.mark.parametrize(
    "signs",
    ["SM-07-04\r", "SM-07-04\t", "\rSM-07-04\r", "\tSM-07-04\r", "SM-07-04\r\n", "\nSM-07-04\r", "^S^M-07-04\r\r"],
)
def test_a_scanner_at_any_of_its_speeds_gives_one_tag_and_no_key(signs: str, gap_ms: float) -> None:
    assert even(signs, gap_ms) == ("", [Tag("SM-07-04")])


@pytest.mark.parametrize("gap_ms", [50.0, 90.0, 250.0])
@pytest.mark.parametrize("signs", ["SM-07-04\r", "n\r", "r !", "\r\r", "the left one\r"])
def test_a_hand_at_any_of_its_speeds_gives_its_keys_and_no_tag(signs: str, gap_ms: float) -> None:
    assert even(signs, gap_ms) == (signs, [])


@pytest.mark.parametrize("signs", ["n\r", "rs", "rs!", "abcde", "\r\r", " \r", "1\t"])
def test_two_or_three_keys_of_a_hand_at_once_are_played_in_order(signs: str) -> None:
    assert even(signs, 5.0) == (signs, [])


def test_a_space_alone_does_not_wait() -> None:
    bursts: Bursts[str] = Bursts()
    assert not bursts.press(10.0, "sign", " ", "space").taken
    assert not bursts.waiting


def test_a_space_inside_a_tag_belongs_to_it() -> None:
    assert even("SM 07\r", 8.0) == ("", [Tag("SM 07")])


def test_the_shortest_tag_has_two_signs() -> None:
    assert even("42\r", 8.0) == ("", [Tag("42")])
    assert LEAST_SIGNS == 2


def test_a_burst_without_an_enter_is_a_tag_and_its_late_enter_nothing() -> None:
    signs = "SM-07-04"
    assert len(signs) >= UNENDED_SIGNS
    assert even(signs, 8.0) == ("", [Tag(signs, ended=False)])
    late = run(signs + "\r", [8.0] * len(signs) + [TAIL_MS - 20])
    assert late == ("", [Tag(signs, ended=False)])
    a_hand = run(signs + "\r", [8.0] * len(signs) + [TAIL_MS + 20])
    assert a_hand == ("\r", [Tag(signs, ended=False)])


def test_what_a_hand_struck_before_a_scan_is_played_before_it() -> None:
    assert run("rSM-04\r", [0, 60.0, *[8.0] * 5]) == ("r", [Tag("SM-04")])


def test_two_scans_in_a_row_are_two_tags() -> None:
    assert run("SM-04\rSM-05\r", [8.0] * 6 + [300.0] + [8.0] * 5) == ("", [Tag("SM-04"), Tag("SM-05")])


def test_a_key_that_is_held_down_begins_nothing_and_waits_for_nothing() -> None:
    bursts: Bursts[str] = Bursts()
    for k in range(40):
        verdict = bursts.press(500 + 30.0 * k, "sign", "a", "a", repeated=True)
        assert (verdict.taken, verdict.play, verdict.tag) == (False, (), None)


def test_a_clock_that_jumps_back_is_no_burst() -> None:
    assert run("ab\r", [4_000_000_000.0, -4_000_000_000.0 + 5, 500.0]) == ("ab\r", [])
