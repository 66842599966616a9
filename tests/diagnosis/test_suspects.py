"""From findings to suspects."""

from __future__ import annotations

from itertools import chain

import pytest

from station.checks.types import Finding, Outcome
from station.diagnosis.evidence import axes_of, evidence_of
from station.diagnosis.guide import Guide, Role, Values, load_guide
from station.diagnosis.suspects import LEAK, suspects, weigh
from station.diagnosis.types import Evidence, Seen
from station.sheets.model import Sheet
from tests.diagnosis.diagnosis_kit import SHEET, Story, noisy

GUIDE = load_guide()


def ranked(story: Story) -> list[tuple[str, float]]:
    return [(s.name, s.weight) for s in suspects(evidence_of(story.history), SHEET, GUIDE)]


@pytest.mark.parametrize(
    ("story", "first"),
    [
        (Story().check("sweep", "left_stick", *noisy("x")), "Left stick sensor, horizontal"),
        (Story().check("sweep", "left_stick", *noisy("y")), "Left stick sensor, vertical"),
        (Story().check("light", "left_shoulder", "misses").check("contact", "left_shoulder"), "Left shoulder contact"),
        (Story().check("contact", "left_shoulder", "stuck"), "Left shoulder actuator or paddle"),
        (
            Story().check("letgo", "left_stick", "no_return", "scatter").check("sweep", "left_stick"),
            "Left stick spring",
        ),
        (
            Story().check("travel", "left_stick", "creep").check("rim", "left_stick", "two_way_lag"),
            "Left stick cap rubbing the gate",
        ),
        (
            Story().check("contact", "left_shoulder", "crosstalk").check("contact", "right_shoulder", "crosstalk"),
            "Board",
        ),
        (Story().check("trigger", "left_trigger", "spikes", "gap"), "Left trigger sensor"),
        (Story().check("link", "", "disconnect", "gaps"), "Cable"),
        (Story().check("rumble", "", "rumble"), "Motor"),
        (Story().check("charge", "", outcome=Outcome.FAIL), "Battery"),
    ],
    ids=[
        "noise across points at the horizontal sensor", "noise up and down at the vertical one",
        "missed light presses at the contact", "a button that stays closed at the paddle",
        "not coming back with a clean sweep at the spring", "slow arrival and lag at the cap",
        "crosstalk on two controls at the board", "a trigger's spikes at its sensor", "a link that goes at the cable",
        "no rumble at the motor", "a failed answer without a finding counts by its name",
    ],
)  # fmt: skip
def test_the_first_suspect_is_the_one_a_bench_would_name(story: Story, first: str):
    assert ranked(story)[0][0] == first


def test_a_part_that_the_sheet_lists_has_the_sheets_id():
    (first, *_) = suspects(evidence_of(Story().check("sweep", "left_stick", *noisy()).history), SHEET, GUIDE)
    assert (first.part_id, first.role, first.control, first.axis) == (
        "left_stick_x_sensor",
        "sensor",
        "left_stick",
        "x",
    )


def test_two_faults_each_have_a_likely_suspect():
    found = dict(ranked(Story().check("sweep", "left_stick", *noisy()).check("light", "left_shoulder", "misses")))
    assert found["Left stick sensor, horizontal"] > 0.9
    assert found["Left shoulder contact"] > 0.5


def test_a_check_that_passed_speaks_for_a_part():
    """An off-centre stick: a clean sweep and a clean let-go make sensor and spring less likely."""
    alone = dict(ranked(Story().check("rest", "left_stick", Finding("offset", "", "x"))))
    with_sweep = dict(
        ranked(Story().check("rest", "left_stick", Finding("offset", "", "x")).check("sweep", "left_stick"))
    )
    with_letgo = dict(
        ranked(Story().check("rest", "left_stick", Finding("offset", "", "x")).check("letgo", "left_stick"))
    )
    assert with_sweep["Left stick sensor, horizontal"] < alone["Left stick sensor, horizontal"]
    assert with_letgo["Left stick spring"] < alone["Left stick spring"]


def test_only_the_last_count_of_a_check_speaks():
    story = Story().check("sweep", "left_stick", *noisy()).check("sweep", "left_stick")
    assert ranked(story) == []


def test_interrupted_and_repeated_tries_do_not_speak():
    story = Story().check("sweep", "left_stick", *noisy()).check("sweep", "left_stick", outcome=Outcome.INTERRUPTED)
    assert ranked(story)[0][0] == "Left stick sensor, horizontal"


def test_without_findings_there_are_no_suspects():
    assert suspects(Evidence(), SHEET, GUIDE) == ()


def test_an_unknown_finding_or_control_is_no_bug():
    story = Story().check("novelty", "left_stick", "never_heard_of").check("contact", "paddle_9", "never")
    names = [name for name, _ in ranked(story)]
    assert "paddle 9 contact" in names


@pytest.mark.parametrize(
    ("seen", "axes"),
    [
        (Seen("s", "rest", "offset", "x", 123.0), {"x": 1.0}),
        (Seen("s", "travel", "short_reach", None, "left"), {"x": 1.0}),
        (Seen("s", "travel", "short_reach", None, "up"), {"y": 1.0}),
        (Seen("s", "rim", "flat_rim", None, 90.0), {"x": 1.0, "y": 0.0}),
        (Seen("s", "rim", "flat_rim", None, 225), {"x": 0.5**0.5, "y": 0.5**0.5}),
        (Seen("s", "letgo", "scatter"), {"x": 1.0, "y": 1.0}),
    ],
    ids=["the axis, if there is one", "left", "up", "a bearing to the right", "a bearing between", "no place: both"],
)
def test_how_a_finding_speaks_of_the_axes(seen: Seen, axes: dict[str, float]):
    assert axes_of(seen) == pytest.approx(axes, abs=1e-12)


def test_weights_are_those_of_bayes_rule_over_all_worlds():
    """A small guide, two controls: every world (which local part on each, common part or not) written out."""
    a = Role("a", "a", ("button",), 0.1, {"misses": 0.6, "never": 0.2})
    b = Role("b", "b", ("button",), 0.05, {"misses": 0.1, "never": 0.7})
    board = Role("board", "Board", ("button",), 0.02, {"misses": 0.3, "never": 0.5}, common=True)
    guide = Guide((a, b, board), (), {}, {}, Values(0, 0, 0))
    seen = (Seen("one", "light", "misses"), Seen("two", "contact", "never"))
    evidence = Evidence(seen, ())
    # what the finished checks could have shown besides and did not: splits, shorts / stuck, crosstalk: shares are 0
    likelihood = {
        ("a", "one"): 0.6, ("b", "one"): 0.1, ("board", "one"): 0.3,
        ("a", "two"): 0.2, ("b", "two"): 0.7, ("board", "two"): 0.5,
    }  # fmt: skip
    rate = {"a": 0.1, "b": 0.05, "board": 0.02}
    worlds: dict[tuple[str, str, bool], float] = {}
    for first in ("a", "b", ""):
        for second in ("a", "b", ""):
            for with_board in (False, True):
                if not with_board and "" in (first, second):
                    continue  # nothing would explain that control
                p = rate["board"] if with_board else 1.0
                for part, control in ((first, "one"), (second, "two")):
                    p *= rate[part] * likelihood[part, control] if part else likelihood["board", control]
                worlds[first, second, with_board] = p
    total = sum(worlds.values())
    local, common = weigh(evidence, Sheet("x"), guide)
    found = {(c.role.role, c.control): w for c, w in chain(local.items(), common.items())}
    for part in ("a", "b"):
        for i, control in enumerate(("one", "two")):
            expected = sum(p for world, p in worlds.items() if world[i] == part) / total
            assert found[part, control] == pytest.approx(expected, rel=1e-12)
    assert found["board", ""] == pytest.approx(sum(p for w, p in worlds.items() if w[2]) / total, rel=1e-12)
    assert LEAK < 0.05


def presses(*strengths: tuple[str, bool]) -> Story:
    """Presses of one button that were missed (or all registered), the contact check passed."""
    story = Story().check("contact", "left_shoulder")
    for check, misses in strengths:
        story.check(check, "left_shoulder", *(["misses"] if misses else []))
    return story


def test_firm_presses_that_pass_speak_for_contact_or_paddle_and_failing_ones_for_the_board():
    board, own = [], []
    for firm in ([("firm_press", False)], [], [("firm_press", True)]):
        local, common = weigh(evidence_of(presses(("light", True), *firm).history), SHEET, GUIDE)
        board.append(sum(common.values()))
        own.append(sum(w for c, w in local.items() if c.role.role in ("contact", "paddle")))
    assert board[0] < board[1] < board[2]
    assert own[0] > own[1] > own[2]


def test_the_finding_of_a_firm_press_that_passes_is_no_second_miss():
    pair = "light presses fail, firm ones pass: weak contact or worn actuator"
    story = presses(("light", True)).check("firm_press", "left_shoulder", Finding("misses", pair), outcome=Outcome.PASS)
    evidence = evidence_of(story.history)
    assert [s.code for s in evidence.seen] == ["misses"]
    assert ("firm_press", "left_shoulder") in evidence.clear


def test_a_firm_press_that_failed_is_evidence_of_the_light_press():
    """So that a treatment counts as a cure when the light press passes, though no firm one is asked for again."""
    evidence = evidence_of(presses(("light", True), ("firm_press", True)).history)
    assert [(s.check, s.code) for s in evidence.seen] == [("light", "misses"), ("light", "firm_misses")]
