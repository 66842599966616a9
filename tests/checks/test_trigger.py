"""Trigger pull: its ends and its track."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import lfilter

from station.checks.trigger import Trigger
from station.checks.types import Outcome, Take
from station.sheets.model import Control, Sheet
from tests.checks.axis_moves import DEVICES, GRID_HZ, LIMITS, TRIGGER, Device, pulls, ramp, seconds, stay, value

CHECK = Trigger()


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_sound_trigger_passes(device: Device) -> None:
    take = device.trigger(pulls())
    assert CHECK.progress(take, LIMITS).complete
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.again, result.findings) == (Outcome.PASS, "", ())


@pytest.mark.parametrize(
    ("rest_at", "top", "code"),
    [(8.0, 100.0, "rest_high"), (0.0, 80.0, "short_pull"), (0.0, 35.0, "short_pull")],
    ids=["stands open when let go", "does not reach its end", "hardly moves"],
)
@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_the_ends_of_the_travel(device: Device, rest_at: float, top: float, code: str) -> None:
    result = CHECK.assess(device.trigger(pulls(rest_at, top)), LIMITS)
    assert result.outcome is Outcome.FAIL
    assert [f.code for f in result.findings] == [code]
    assert value(result.readings, "released") == pytest.approx(rest_at, abs=0.6)
    assert value(result.readings, "full") == pytest.approx(top, abs=0.6)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_missing_codes_and_spikes_are_told_apart(device: Device) -> None:
    gap = CHECK.assess(device.trigger(pulls(), fault=lambda t, v: np.where((v > 40) & (v < 52), 40.0, v)), LIMITS)
    assert [f.code for f in gap.findings] == ["gap"]
    assert value(gap.readings, "gap") == pytest.approx(12.0, abs=1.5)

    def spiky(t: np.ndarray, v: np.ndarray) -> np.ndarray:
        return np.where((v > 55) & (v < 75) & (t % 0.06 < 0.0085), v - 15.0, v)

    spikes = CHECK.assess(device.trigger(pulls(), fault=spiky), LIMITS)
    assert [f.code for f in spikes.findings] == ["spikes"]
    assert spikes.outcome is Outcome.FAIL


def test_a_pull_that_no_other_confirms_is_asked_for_again() -> None:
    tops = (60.0, 70.0, 85.0)
    parts = [stay(0, 0.3)]
    for top in tops:
        parts += [ramp(0, top, 1.2), stay(top, 0.3), ramp(top, 0, 0.05), stay(0, 0.5)]
    v = np.concatenate(parts)
    result = CHECK.assess(Device().trigger((np.arange(len(v)) / GRID_HZ, v)), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert result.again == "again, please: pull the left trigger right to its stop each time"


def drawn_pulls(rng: np.random.Generator, rest_at: float, back_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Three pulls that begin slowly, as a finger's do, let go at any moment between two reports."""
    share = np.linspace(0.0, 1.0, int(1.2 * GRID_HZ))
    pull = rest_at + (90.0 - rest_at) * share**3 * (10.0 - 15.0 * share + 6.0 * share**2)
    parts = [stay(rest_at, 0.3)]
    for _ in range(3):
        parts += [
            pull,
            stay(90.0, rng.uniform(0.4, 0.6)),
            ramp(90.0, rest_at, back_s),
            stay(rest_at, rng.uniform(0.6, 0.8)),
        ]
    v = np.concatenate(parts)
    return np.arange(len(v)) / GRID_HZ, v


def test_a_return_that_polls_cut_up_or_down_is_held_by_its_uncertainty() -> None:
    """41 ms at 8 ms a poll read 40 or, once in eight, 48. Of 100 tries at least 87 hold it, the 0.1 % point of a
    binomial of 95 % (computed)."""
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(100):
        back_s = 0.041 / (0.8 - 3.0 / 90.0)
        result = CHECK.assess(Device(125, 12).trigger(drawn_pulls(rng, 0.0, back_s)), LIMITS)
        one = next(r for r in result.readings if r.name == "return_time")
        held += abs((one.value or 0.0) - 41.0) <= one.uncertainty
    assert held >= 87


@pytest.mark.parametrize(("noise", "tau_ms"), [(0.3, 12.0), (0.2, 60.0)])
def test_a_return_through_noise_is_held_by_its_uncertainty(noise: float, tau_ms: float) -> None:
    """An exponential return from 90 % takes τ ln(0.8 · 90/3). Looked at a thousand times a second, the first report
    within 3 % is one that noise carried there. Of 120 tries at least 105 hold it, the 0.1 % point of a binomial of
    95 % (computed), and U is no more than half as wide again as that takes."""
    rng = np.random.default_rng(6)
    true = tau_ms * np.log(0.8 * 90.0 / 3.0)
    errors, stated = [], []
    for _ in range(120):
        way = 90.0 * np.exp(-seconds(1.2) * 1e3 / tau_ms)
        share = np.linspace(0.0, 1.0, GRID_HZ)
        pull = 90.0 * share**3 * (10.0 - 15.0 * share + 6.0 * share**2)
        v = 5.0 + np.concatenate(
            [stay(0.0, 0.3)]
            + [
                part
                for _ in range(3)
                for part in (pull, stay(90.0, rng.uniform(0.4, 0.5)), way[: rng.integers(4400, 4800)])
            ]
        )
        path = np.arange(len(v)) / GRID_HZ, v
        result = CHECK.assess(Device(1000, 12, noise=noise, seed=int(rng.integers(1 << 30))).trigger(path), LIMITS)
        one = next(r for r in result.readings if r.name == "return_time")
        errors.append((one.value or 0.0) - true)
        stated.append(one.uncertainty)
    assert int((np.abs(errors) <= np.array(stated)).sum()) >= 105
    assert float(np.mean(stated)) < 1.5 * float(np.quantile(np.abs(errors), 0.95))


def test_the_ends_are_known_as_well_as_they_scatter() -> None:
    """Fast and slow noise (first order, 50 ms) on a trigger whose ends are 5 and 90 %: of 2 · 40 ends at least 69 lie
    within U, the 0.1 % point of a binomial of 95 % (computed), and U is no more than half as wide again as that
    takes."""
    rng = np.random.default_rng(4)
    errors, stated = [], []
    for _ in range(40):
        t, v = drawn_pulls(rng, 5.0, 0.05)
        at = np.arange(0.0, float(t[-1]) + 0.02, 0.001)
        slow = lfilter([0.035 * np.sqrt(1.0 - 0.98**2)], [1.0, -0.98], rng.standard_normal(len(at)))
        noisy = v + np.interp(t, at, slow + 0.08 * rng.standard_normal(len(at)))
        result = CHECK.assess(Device(1000, 12).trigger((t, noisy)), LIMITS)
        for name, true in (("released", 5.0), ("full", 90.0)):
            one = next(r for r in result.readings if r.name == name)
            errors.append((one.value or 0.0) - true)
            stated.append(one.uncertainty)
    assert int((np.abs(errors) <= np.array(stated)).sum()) >= 69
    assert float(np.mean(stated)) < 1.5 * float(np.quantile(np.abs(errors), 0.95))


def test_pulls_are_counted() -> None:
    take = Device().trigger(pulls(times=1))
    assert CHECK.progress(take, LIMITS).missing == "two pulls to go"
    assert CHECK.assess(take, LIMITS).again == "again, please: pull to the stop and let go, two pulls to go"


def test_never_reported_waits() -> None:
    take = replace(Device().trigger(pulls()), signals={})
    assert CHECK.progress(take, LIMITS).missing == "waiting for the first report"
    assert CHECK.assess(take, LIMITS).outcome is Outcome.NOT_DONE


TWO_STICKS = (Control("x_y", "stick", "X and Y"), Control("rx_ry", "stick", "Rx and Ry"))


def drawn(take: Take, *more: Control, drawn_up: bool = True) -> Take:
    """The same try under a sheet with two sticks, this axis and perhaps more."""
    return replace(take, sheet=Sheet("Pad", controls=(*TWO_STICKS, TRIGGER, *more), drawn_up=drawn_up))


@pytest.mark.parametrize("top", [100.0, 0.0], ids=["the one that raises it", "the one that lowers it"])
@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_two_triggers_in_one_axis_are_recognised_and_not_failed(device: Device, top: float) -> None:
    result = CHECK.assess(drawn(device.trigger(pulls(50.0, top))), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert "two triggers in one" in result.again
    assert "pulled together they cancel" in result.again


@pytest.mark.parametrize(
    "take",
    [
        pytest.param(lambda t: drawn(t, drawn_up=False), id="a sheet says that it is one trigger"),
        pytest.param(lambda t: drawn(t, Control("rz", "trigger", "Rz")), id="there is a second trigger"),
    ],
)
def test_a_trigger_that_stands_half_open_still_fails(take: object) -> None:
    result = CHECK.assess(take(Device().trigger(pulls(50.0, 100.0))), LIMITS)  # type: ignore[operator]
    assert [f.code for f in result.findings] == ["rest_high"]


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_single_sound_trigger_of_a_drawn_up_pad_passes(device: Device) -> None:
    assert CHECK.assess(drawn(device.trigger(pulls())), LIMITS).outcome is Outcome.PASS


def hanging(at: float, hang_s: float, which: tuple[bool, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Pulls of which some hang on the way back."""
    parts = [stay(0.0, 0.3)]
    for hangs in which:
        parts += [ramp(0.0, 100.0, 1.5), stay(100.0, 0.3)]
        parts += [ramp(100.0, at, 0.04), stay(at, hang_s), ramp(at, 0.0, 0.01)] if hangs else [ramp(100.0, 0.0, 0.04)]
        parts.append(stay(0.0, 0.4))
    v = np.concatenate(parts)
    return np.arange(len(v)) / GRID_HZ, v


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize(
    ("at", "hang_s", "which"),
    [(12.0, 0.5, (True,) * 3), (30.0, 0.6, (False, True, False)), (12.0, 0.45, (False, False, True))],
    ids=["every time", "once in three, high up", "the last time"],
)
def test_a_trigger_that_hangs_does_not_pass(device: Device, at: float, hang_s: float, which: tuple[bool, ...]) -> None:
    result = CHECK.assess(device.trigger(hanging(at, hang_s, which)), LIMITS)
    assert result.outcome is Outcome.FAIL
    assert [f.code for f in result.findings] == ["slow_return"]
    assert value(result.readings, "return_time") == pytest.approx(1000 * hang_s + 40, abs=25)


def test_a_trigger_that_stays_open_until_the_next_pull_stands_open() -> None:
    parts = [stay(0.0, 0.3)]
    for before, rest in ((0.0, 0.0), (0.0, 30.0), (30.0, 0.0)):
        parts += [ramp(before, 100.0, 1.5), stay(100.0, 0.3), ramp(100.0, rest, 0.04), stay(rest, 0.6)]
    v = np.concatenate(parts)
    result = CHECK.assess(Device().trigger((np.arange(len(v)) / GRID_HZ, v)), LIMITS)
    assert [f.code for f in result.findings] == ["rest_high", "slow_return"]
    assert value(result.readings, "released") == pytest.approx(30.0, abs=0.6)


def test_a_finger_that_rests_on_the_trigger_is_asked_to_go() -> None:
    t, v = pulls(8.0)
    v = v + np.where(v < 9.0, 0.8 * np.sin(2 * np.pi * 6.0 * t), 0.0)
    assert "take the finger off" in CHECK.assess(Device(1000, 12).trigger((t, v)), LIMITS).again


def test_a_trigger_that_is_led_back_once_is_asked_for_again() -> None:
    parts = [stay(0.0, 0.3)]
    for back_s in (0.04, 0.6, 0.04):
        parts += [ramp(0.0, 100.0, 1.5), stay(100.0, 0.3), ramp(100.0, 0.0, back_s), stay(0.0, 0.5)]
    v = np.concatenate(parts)
    assert "do not lead it back" in CHECK.assess(Device().trigger((np.arange(len(v)) / GRID_HZ, v)), LIMITS).again


def test_a_range_that_the_model_does_not_use_is_proposed() -> None:
    t, v = pulls()
    result = CHECK.assess(Device(250, 8).trigger((t, 50.0 + 0.906 * (v - 50.0))), LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert "12 and 243" in result.again


@pytest.mark.parametrize(
    ("twin_pct", "outcome"),
    [(9.4, Outcome.NOT_DONE), (8.9, Outcome.NOT_DONE), (0.0, Outcome.FAIL)],
    ids=["rests alike", "rests alike within 1 %", "rests at the end of the range"],
)
def test_two_faults_that_are_alike_are_no_range_of_the_model(twin_pct: float, outcome: Outcome) -> None:
    """A trigger that rests at 9.4 % and is pulled to 90.6 %: the other one shows whether the range ends there."""
    t, v = pulls()
    take = Device(250, 8).trigger((t, 50.0 + 0.812 * (v - 50.0)))
    twin = Device(250, 8).trigger((t, np.full_like(t, twin_pct)))
    both = replace(take, signals={**take.signals, "right_trigger": twin.signals[TRIGGER.id]})
    result = CHECK.assess(both, LIMITS)
    assert result.outcome is outcome
    assert {f.code for f in result.findings} == ({"rest_high", "short_pull"} if outcome is Outcome.FAIL else set())
