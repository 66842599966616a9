"""What is taken for a scanner and what for a hand, by the times alone."""

from __future__ import annotations

from itertools import accumulate

import pytest

from station.ui.bursts import GAP_MS, HOLD_MS, LATE_END_MS, LEAST_SIGNS, TAIL_MS, UNENDED_SIGNS, Bursts, Kind, Tag


def kind_of(sign: str) -> Kind:
    return {"\r": "end", "\t": "end", "^": "modifier", "!": "other", "\n": "control"}.get(sign, "sign")  # type: ignore[return-value]


def run(signs: str, gaps_ms: list[float]) -> tuple[str, list[Tag]]:
    """What was played back or let through, in order, and the tags; silence follows wherever it was long enough."""
    bursts: Bursts[str] = Bursts()
    played, tags = "", []
    for k, (sign, at_ms) in enumerate(zip(signs, accumulate(gaps_ms), strict=True)):
        if k and gaps_ms[k] > bursts.hold_ms and bursts.waiting:
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


def test_a_burst_without_an_enter_is_a_tag() -> None:
    signs = "SM-07-04"
    assert len(signs) >= UNENDED_SIGNS
    assert even(signs, 8.0) == ("", [Tag(signs, ended=False)])


@pytest.mark.parametrize("signs", ["SMN", "SM-07-04"])
@pytest.mark.parametrize("end", ["\r", "\t"])
def test_an_enter_that_comes_late_ends_the_burst_and_is_no_command(signs: str, end: str) -> None:
    at_once = [8.0] * len(signs)
    for late_ms in (60.0, 200.0, LATE_END_MS):
        assert run(signs + end, [*at_once, late_ms]) == ("", [Tag(signs)]), late_ms
    unended = ("", [Tag(signs, ended=False)]) if len(signs) >= UNENDED_SIGNS else (signs, [])
    assert run(signs + end, [*at_once, LATE_END_MS + 20]) == (unended[0] + end, unended[1])


def test_the_late_enter_of_a_burst_in_the_midst_of_typing_is_no_command_either() -> None:
    signs = "rSM-07-04\r"
    assert run(signs, [0, 60.0, *[8.0] * 7, 250.0]) == ("r", [Tag("SM-07-04", ended=False)])


@pytest.mark.parametrize("gap_ms", [55.0, 60.0, 90.0, GAP_MS])
@pytest.mark.parametrize("at", range(2, 9))
def test_one_longer_gap_does_not_tear_a_burst(at: int, gap_ms: float) -> None:
    signs = "SRF-MN-09\r"
    assert run(signs, [gap_ms if k == at else 8.0 for k in range(len(signs))]) == ("", [Tag("SRF-MN-09")])


def test_only_one_gap_is_forgiven_and_none_beyond_its_bound() -> None:
    signs = "SRF-MN-09\r"
    twice = [55.0 if k in (3, 5) else 8.0 for k in range(len(signs))]
    assert run(signs, twice) == ("SRF-M", [Tag("N-09")])
    beyond = [GAP_MS + 20 if k == 3 else 8.0 for k in range(len(signs))]
    assert run(signs, beyond) == ("SRF", [Tag("-MN-09")])


@pytest.mark.parametrize(
    ("signs", "gaps_ms"),
    [
        ("the\r", [500.0, 30.0, 100.0, 35.0]),  # two keys as one, then a third and Enter as one
        ("125\r", [500.0, 35.0, 80.0, 100.0]),
        ("12\r", [500.0, 35.0, 90.0]),
        ("rs!", [500.0, 30.0, 90.0]),
        ("sticking\r", [500.0, *[80.0] * 4, 35.0, 35.0, 35.0, 120.0]),  # the end of a word in the midst of typing
    ],
)
def test_a_hand_that_strikes_keys_as_one_now_and_then_keeps_them(signs: str, gaps_ms: list[float]) -> None:
    assert run(signs, gaps_ms) == (signs, [])


@pytest.mark.parametrize("gap_ms", [1.0, 30.0])
def test_control_signs_in_a_burst_belong_to_it_and_are_left_out_of_the_tag(gap_ms: float) -> None:
    """As in a code of several fields, which the sign GS parts."""
    assert even("21SM07\n10XF\nR\r", gap_ms) == ("", [Tag("21SM0710XFR")])
    assert even("\nSM\n07\n\r", gap_ms) == ("", [Tag("SM07")])


def test_what_a_hand_struck_before_a_scan_is_played_before_it() -> None:
    assert run("rSM-04\r", [0, 60.0, *[8.0] * 5]) == ("r", [Tag("SM-04")])


def test_the_second_enter_of_a_tag_belongs_to_it_and_a_later_one_is_a_hand_s() -> None:
    assert run("SM-04\r\r", [8.0] * 6 + [TAIL_MS - 20]) == ("", [Tag("SM-04")])
    assert run("SM-04\r\r", [8.0] * 6 + [TAIL_MS + 20]) == ("\r", [Tag("SM-04")])


def test_two_scans_in_a_row_are_two_tags() -> None:
    assert run("SM-04\rSM-05\r", [8.0] * 6 + [300.0] + [8.0] * 5) == ("", [Tag("SM-04"), Tag("SM-05")])


def test_a_key_alone_waits_no_longer_than_it_did() -> None:
    bursts: Bursts[str] = Bursts()
    bursts.press(1000.0, "sign", "n", "n")
    assert bursts.hold_ms == HOLD_MS


def test_a_key_that_is_held_down_begins_nothing_and_waits_for_nothing() -> None:
    bursts: Bursts[str] = Bursts()
    for k in range(40):
        verdict = bursts.press(500 + 30.0 * k, "sign", "a", "a", repeated=True)
        assert (verdict.taken, verdict.play, verdict.tag) == (False, (), None)


def test_a_clock_that_jumps_back_is_no_burst() -> None:
    assert run("ab\r", [4_000_000_000.0, -4_000_000_000.0 + 5, 500.0]) == ("ab\r", [])
