"""Link: intervals, gaps while moving, disconnects; pauses of the hand are not gaps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station.checks.limits import limits_for
from station.checks.link import Link
from station.checks.said import bare_value, limits_text, sentence
from station.checks.types import Outcome, Take
from station.sheets.model import Sheet
from station.sheets.signals import StickSignal
from tests.checks.axis_moves import DEVICES, GRID_HZ, LIMITS, STICK, Device, Path, rest, seconds, value

CHECK = Link()


def circles(pause_every_s: float = 0.0) -> Path:
    """Ten seconds of circles, one a second; `pause_every_s`: with a pause of 0.4 s, gently begun and ended."""
    t = seconds(10.0)
    speed = np.ones_like(t)
    if pause_every_s:
        phase = t % pause_every_s
        speed = np.clip((phase - 0.4) / 0.15, 0, 1) * np.clip((pause_every_s - phase) / 0.15, 0, 1)
    turned = 2 * np.pi * np.cumsum(speed) / GRID_HZ
    return t, 90 * np.sin(turned), 90 * np.cos(turned)


def unit_take(device: Device, path: Path) -> Take:
    return replace(device.stick(path), control=None)


def cut(take: Take, *spans: tuple[float, float]) -> Take:
    """The take without the reports that came between those seconds."""
    signal = take.signals[STICK.id]
    assert isinstance(signal, StickSignal)
    kept = np.ones(len(signal.t_ns), dtype=bool)
    for a, b in spans:
        kept &= (signal.t_ns < a * 1e9) | (signal.t_ns > b * 1e9)
    parts = (signal.x_pct[kept], signal.y_pct[kept], signal.x_code[kept], signal.y_code[kept])
    shorter = StickSignal(signal.t_ns[kept], *parts, signal.x_step_pct, signal.y_step_pct)
    return replace(take, signals={STICK.id: shorter}, report_t_ns=signal.t_ns[kept])


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_a_steady_link_passes(device: Device) -> None:
    take = unit_take(device, circles())
    assert CHECK.progress(take, LIMITS).complete
    result = CHECK.assess(take, LIMITS)
    assert (result.outcome, result.findings) == (Outcome.PASS, ())
    assert value(result.readings, "interval_median") == pytest.approx(1e3 / device.rate_hz, rel=0.05)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
@pytest.mark.parametrize(
    ("spans", "outcome"),
    [
        (((3.0, 3.04),), Outcome.PASS),
        (((3.0, 3.08),), Outcome.BORDERLINE),
        (((3.0, 3.08), (5.0, 5.1), (7.0, 7.3)), Outcome.FAIL),
    ],
    ids=["40 ms is no gap", "one gap is borderline", "three gaps fail"],
)
def test_gaps_while_moving(device: Device, spans: tuple[tuple[float, float], ...], outcome: Outcome) -> None:
    result = CHECK.assess(cut(unit_take(device, circles()), *spans), LIMITS)
    assert result.outcome is outcome
    assert [f.code for f in result.findings] == ([] if outcome is Outcome.PASS else ["gaps"])


@pytest.mark.parametrize("device", [d for d in DEVICES if d.on_change], ids=lambda d: d.name)
def test_a_pause_of_the_hand_is_no_gap(device: Device) -> None:
    result = CHECK.assess(unit_take(device, circles(pause_every_s=2.0)), LIMITS)
    assert result.outcome is Outcome.PASS
    assert value(result.readings, "gaps") == 0


def test_a_disconnect_fails_even_a_short_take() -> None:
    t, x, y = circles()
    half = len(t) // 2
    take = replace(unit_take(Device(), (t[:half], x[:half], y[:half])), disconnects_ns=(4_000_000_000,))
    result = CHECK.assess(take, LIMITS)
    assert result.outcome is Outcome.FAIL
    assert [f.code for f in result.findings] == ["disconnect"]
    assert sentence("link", result.findings[0]) == "link: went away one time"


def test_reports_lost_by_the_computer_are_not_the_unit_s() -> None:
    take = replace(cut(unit_take(Device(), circles()), (3.0, 3.2)), lost=200)
    result = CHECK.assess(take, LIMITS)
    assert result.outcome is Outcome.NOT_DONE
    assert result.again == "again, please: the computer lost reports, close other programs"


def test_a_slow_rate_is_said() -> None:
    result = CHECK.assess(unit_take(Device(40, 8), circles()), LIMITS)
    assert "slow_rate" in [f.code for f in result.findings]
    assert result.outcome is Outcome.BORDERLINE


def test_what_is_slow_a_sheet_may_say() -> None:
    take = unit_take(Device(40, 8), circles())
    slow = limits_for(Sheet("x", limits={"link": {"interval_median": (26.0, 60.0)}}), LIMITS)
    result = CHECK.assess(take, slow)
    assert (result.outcome, result.findings) == (Outcome.PASS, ())
    reading = next(r for r in CHECK.assess(take, LIMITS).readings if r.name == "interval_median")
    assert limits_text(reading) == "≤\N{NO-BREAK SPACE}17 · fails > 50"
    (found,) = CHECK.assess(take, LIMITS).findings
    assert sentence("link", found) == f"link: reports only every {bare_value('link', reading, unit=False)} ms"


def test_a_unit_that_goes_away_before_it_moves_is_judged_by_that() -> None:
    lost = replace(unit_take(Device(), rest(0, 0, 2.0)), disconnects_ns=(1_000_000_000,))
    once = limits_for(Sheet("x", limits={"link": {"disconnects": (0.0, 2.0)}}), LIMITS)
    assert [r.value for r in CHECK.assess(lost, once).readings if r.name == "interval_median"] == [None]
    assert CHECK.assess(lost, once).outcome is Outcome.BORDERLINE


def test_a_stick_that_rests_must_be_moved() -> None:
    take = unit_take(Device(), rest(0, 0, 10.0))
    assert CHECK.progress(take, LIMITS).missing == "keep a stick moving for 6 s more"
    assert CHECK.assess(take, LIMITS).again == "again, please: keep a stick moving all the time"


def test_it_applies_to_the_whole_unit() -> None:
    take = unit_take(Device(), rest(0, 0))
    assert CHECK.applies(None, take.sheet)
    assert not CHECK.applies(STICK, take.sheet)
