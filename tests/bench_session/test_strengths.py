"""Presses at other strengths: offered when a light press fails, asked for, weighed; and what they say together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from station.bench.strengths import at_strength, place_of, with_strengths
from station.bench.types import AgainPlease, Beat, Choose, Fault, Finish, Go, Step, StepStarted, Strength, VisitFinished
from station.capture.file import read_capture
from station.checks.light import LightCheck
from station.checks.said import sentence
from station.checks.types import Assessment, Outcome
from station.evidence.assess import assess_capture
from station.judgement.tries import up_to_date
from station.records.types import Result
from tests.bench_session.bench_fakes import LAYOUT, MS, SHEET, Bench, FakeCheck

CONTACT = Step("contact", "left", "Contact", "Left shoulder", "top")
LIGHT = Step("light", "left", "Light press", "Left shoulder", "top")
OTHER = Step("contact", "right", "Contact", "Right shoulder", "top")
STEPS = (CONTACT, LIGHT, OTHER)
FIRM = Step("firm_press", "left", "Firm press", "Left shoulder", "top", offered=True)
TEXT = "left shoulder: light presses fail, firm ones pass: weak contact or worn actuator"


def the_bench(*steps: Step, **more: object) -> Bench:
    bench = Bench(steps=steps or STEPS, **more)  # type: ignore[arg-type]
    bench.checks["firm_press"] = FakeCheck("firm_press", wanted=2, beats_per_minute=120)
    bench.checks["normal_press"] = FakeCheck("normal_press", wanted=2, beats_per_minute=120)
    return bench


def end_without_a_press(bench: Bench) -> None:
    """Start the step and end it by the key: the fakes call that a fail."""
    bench.do(Go())
    bench.run(0.3)
    bench.do(Go())


def pass_by(bench: Bench, times: int) -> None:
    """Start the step and press as often as the fake wants."""
    bench.do(Go())
    bench.press(3, times)
    bench.run(0.2)


def failed_light() -> Bench:
    bench = the_bench()
    bench.do(Choose(1))
    end_without_a_press(bench)
    return bench


def current(bench: Bench) -> Step:
    view = bench.session.view()
    return view.steps[view.current].step


def test_a_failed_light_press_offers_a_firm_one_next() -> None:
    bench = failed_light()
    assert [v.step for v in bench.session.view().steps] == [CONTACT, LIGHT, FIRM, OTHER]
    assert (current(bench), current(bench).strength) == (FIRM, "firm")


def test_a_light_press_that_passes_offers_nothing() -> None:
    bench = the_bench()
    bench.do(Choose(1))
    pass_by(bench, 3)
    assert [v.step for v in bench.session.view().steps] == list(STEPS)


def test_an_offer_that_is_not_taken_is_not_waited_for() -> None:
    bench = failed_light()
    bench.do(Choose(0))
    pass_by(bench, 2)
    assert current(bench) == OTHER
    pass_by(bench, 2)
    assert bench.session.view().prompt is not None
    assert bench.session.view().prompt.title == "Everything is done"
    bench.do(Go())
    assert bench.of(VisitFinished)


def test_light_fails_and_firm_passes_is_a_finding_of_its_own() -> None:
    bench = failed_light()
    pass_by(bench, 2)
    firm = bench.results[-1]
    assert (firm.check, firm.strength, firm.assessment.outcome) == ("firm_press", "firm", Outcome.PASS)
    assert [(f.code, sentence("firm_press", f)) for f in firm.assessment.findings] == [("misses", TEXT)]
    assert bench.session.view().steps[1].outcome is Outcome.FAIL, "the light press has failed all the same"
    assert current(bench) == OTHER


def test_a_firm_press_that_fails_too_says_nothing_of_the_kind() -> None:
    bench = failed_light()
    end_without_a_press(bench)
    assert bench.results[-1].assessment == replace(bench.results[-1].assessment, outcome=Outcome.FAIL, findings=())


def test_a_light_press_that_fails_after_a_firm_one_passed_says_it_too() -> None:
    bench = the_bench()
    bench.do(Choose(1), Strength("firm"))
    pass_by(bench, 2)
    bench.do(Choose(1))
    end_without_a_press(bench)
    assert [sentence("light", f) for f in bench.results[-1].assessment.findings] == [TEXT]
    assert current(bench) == OTHER, "the firm press is there already"


def test_any_strength_can_be_asked_for_and_stands_in_order() -> None:
    bench = the_bench()
    bench.do(Strength("firm"))
    assert (current(bench).check, bench.session.view().running) == ("firm_press", False)
    bench.do(Strength("normal"))
    assert [v.step.check for v in bench.session.view().steps] == [
        "contact", "light", "normal_press", "firm_press", "contact",
    ]  # fmt: skip
    assert current(bench).title == "Normal press"
    bench.do(Strength("light"))
    assert current(bench) == LIGHT


def test_a_strength_is_for_the_control_pressed_last_where_the_current_one_has_no_press() -> None:
    bench = the_bench()
    bench.do(Choose(1))
    pass_by(bench, 3)
    assert current(bench) == OTHER
    bench.do(Strength("firm"))
    assert current(bench) == FIRM


def test_without_a_press_at_hand_it_says_what_to_do() -> None:
    bench = the_bench(OTHER)
    bench.do(Strength("firm"))
    assert bench.session.view().message == "Choose a light press first; it can then be done at another strength."
    assert len(bench.of(Fault)) == 1


@pytest.mark.parametrize("mass_g", [0.0, -5.0, 5000.1, float("nan")])
def test_an_impossible_mass_is_refused_in_one_sentence(mass_g: float) -> None:
    bench = the_bench()
    bench.do(Choose(1), Strength("light", mass_g))
    assert bench.session.view().message == "The mass must be more than 0 g and at most 5,000 g; give it again."
    assert current(bench) == LIGHT


def test_another_strength_interrupts_the_try_and_keeps_it() -> None:
    bench = the_bench()
    bench.do(Choose(1), Go())
    bench.run(0.5)
    bench.do(Strength("firm"))
    assert [(r.check, r.assessment.outcome) for r in bench.results] == [("light", Outcome.INTERRUPTED)]
    assert not bench.session.view().running
    assert current(bench) == FIRM


def test_a_step_behind_an_inserted_one_keeps_what_was_done() -> None:
    bench = the_bench()
    bench.do(Choose(2))
    pass_by(bench, 2)
    bench.do(Choose(1))
    end_without_a_press(bench)
    assert [(v.step.check, v.state) for v in bench.session.view().steps] == [
        ("contact", "waiting"), ("light", "done"), ("firm_press", "waiting"), ("contact", "done"),
    ]  # fmt: skip


def test_a_visit_gone_on_with_knows_the_presses_of_all_strengths() -> None:
    bench = failed_light()
    pass_by(bench, 2)
    again = the_bench(recorder=bench.recorder, resume=bench.session.view().visit)
    assert [(v.step.check, v.attempts) for v in again.session.view().steps] == [
        ("contact", 0), ("light", 1), ("firm_press", 1), ("contact", 0),
    ]  # fmt: skip


class TestWeighed:
    """With the real check: a known mass in the finger's place."""

    def weighed(self, mass_g: float | None) -> Bench:
        bench = Bench(steps=(LIGHT,), real=True)
        bench.do(Strength("light", mass_g), Go())
        answered = 0
        for _ in range(2400):
            bench.run(0.01)
            for beat in bench.of(Beat)[answered:]:
                answered += 1
                bench.source.later(beat.at_ns + 40 * MS, 3)
                bench.source.later(beat.at_ns + 130 * MS, 0)
        return bench

    def test_the_force_stands_with_the_readings_in_newtons(self) -> None:
        bench = self.weighed(160.0)
        done = bench.results[-1].assessment
        assert done.outcome is Outcome.PASS
        force = done.readings[0]
        assert (force.name, force.unit, force.reason) == ("force", "N", "160 g")
        assert force.value == pytest.approx(1.5691, abs=5e-5)
        assert 0.005 < force.uncertainty < 0.01

    def test_the_evidence_names_the_mass_and_says_the_same_again(self) -> None:
        bench = self.weighed(160.0)
        capture = read_capture(bench.recorder.captures[bench.results[-1].capture_sha256])
        assert [m.mass_g for m in capture.marks if m.event == "begin"] == [160.0]
        assert len([m for m in capture.marks if m.event == "beat"]) == 31, "the count-in is not marked"
        assert assess_capture(capture, SHEET, LAYOUT).checks[0].assessment == bench.results[-1].assessment

    def test_a_finger_has_no_known_force(self) -> None:
        done = self.weighed(None).results[-1].assessment
        assert done.outcome is Outcome.PASS
        assert "force" not in {r.name for r in done.readings}

    def test_the_prompt_tells_how_to_use_the_mass(self) -> None:
        prompt = LightCheck("firm", 260.0).prompt(SHEET.control("left"), SHEET)
        assert prompt.title == "Firm press"
        assert prompt.do == (
            "Set the mass of 260 g on left shoulder, and press right shoulder with it, on each beat; lift it again."
        )


def result(check: str, visit: str, outcome: Outcome = Outcome.PASS, control: str = "left") -> Result:
    return Result(f"{check}-{visit}", visit, check, control, 1, "2026-03-06T10:00:00.000Z", Assessment(outcome))


def test_firm_presses_of_an_earlier_visit_no_longer_speak_after_a_new_light_press() -> None:
    old = [result("light", "v1", Outcome.FAIL), result("firm_press", "v1"), result("firm_press", "v1", control="right")]
    assert up_to_date(old) == tuple(old)
    new = [*old, result("light", "v2")]
    assert [r.id for r in up_to_date(new) if r.control == "left"] == ["light-v1", "light-v2"]
    assert old[2] in up_to_date(new), "the other control was not pressed again"
    assert up_to_date([*old, result("light", "v2", Outcome.INTERRUPTED)])[1] == old[1]


def test_the_plan_takes_in_what_was_done_beside_it() -> None:
    steps = with_strengths(STEPS, [result("firm_press", "v1"), result("firm_press", "v1", control="gone")])
    assert steps == (CONTACT, LIGHT, FIRM, OTHER)


def test_a_press_without_a_lighter_one_stands_before_the_harder_or_behind_its_control() -> None:
    firm = at_strength(LIGHT, "firm")
    assert place_of((CONTACT, firm, OTHER), at_strength(LIGHT, "normal")) == 1
    assert place_of((CONTACT, OTHER), firm) == 1
    assert place_of((OTHER,), firm) == 1


def test_the_count_in_is_started_anew_with_each_try() -> None:
    bench = the_bench()
    bench.do(Choose(1), Go())
    bench.run(1.7)
    assert [b.state for b in bench.session.view().beats] == ["count-in", "count-in"]
    bench.do(Go())  # ended in the count-in: nothing was pressed, so the fake fails it
    bench.do(Go())
    bench.run(0.5)
    assert bench.session.view().beats == ()
    assert len(bench.of(StepStarted)) == 2
    assert not bench.of(AgainPlease)
    bench.do(Finish())
