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


def waits(take: Take) -> dict[str, float]:
    found = CHECK.assess(take, LIMITS).readings
    return {name: value(found, name) for name in ("wait_mean", "wait_most", "wait_extra", "longest")}


def kept(take: Take, some: np.ndarray, t_ns: np.ndarray | None = None) -> Take:
    """The take with only these reports, which arrive at `t_ns`."""
    signal = take.signals[STICK.id]
    assert isinstance(signal, StickSignal)
    t_ns = (signal.t_ns if t_ns is None else t_ns)[some]
    parts = (signal.x_pct[some], signal.y_pct[some], signal.x_code[some], signal.y_code[some])
    fewer = StickSignal(t_ns, *parts, signal.x_step_pct, signal.y_step_pct)
    return replace(take, signals={STICK.id: fewer}, report_t_ns=t_ns)


@pytest.mark.parametrize("device", DEVICES, ids=lambda d: d.name)
def test_on_a_regular_link_a_movement_waits_half_an_interval(device: Device) -> None:
    """Also where it reports on change only and skips what did not change. Silences that a lost report explains as well
    make U wider, by a quarter of a period at most where codes are fine or the link is slow."""
    readings, period = CHECK.assess(unit_take(device, circles()), LIMITS).readings, 1e3 / device.rate_hz
    found = {r.name: r for r in readings}
    for name, true in (("wait_mean", period / 2), ("wait_most", 0.99 * period), ("wait_extra", 0.0)):
        assert abs((found[name].value or 0.0) - true) <= found[name].uncertainty + 0.03 * period
        assert found[name].uncertainty < 0.25 * period


@pytest.mark.parametrize(
    ("rate_hz", "lost", "late_ms"),
    [(1000, 0.0, 0.04), (1000, 0.01, 0.2), (500, 0.01, 0.04), (250, 0.0, 0.2), (1000, 0.0, 0.6)],
)
def test_coarse_codes_on_change_do_not_tell_a_lost_report_from_silence(
    rate_hz: int, lost: float, late_ms: float
) -> None:
    """Codes of 8 bits on a stick that is circled: 0.8 of them a millisecond, so a poll in which nothing changed looks
    like a lost report. The wait is that of polls of which each is lost by itself, T(1 + q)/2(1 − q), and what lateness
    of independent parts adds, its variance over T, that of the device's own polls (0…T/20) included; of 25 tries at
    least 20 hold it, the 0.2 % point of a binomial of 95 % (computed)."""
    rng, period, held = np.random.default_rng(8), 1e3 / rate_hz, 0
    late = late_ms * np.abs(rng.standard_normal(100_000))
    late_by = float(np.var(late)) + (period / 20.0) ** 2 / 12.0
    true = period * (1.0 + lost) / (2.0 * (1.0 - lost)) + late_by / period
    for seed in range(25):
        t, x, y = circles()
        turned = np.arctan2(x, y) + 2.0 * np.pi * rng.random()
        whole = unit_take(Device(rate_hz, 8, True, seed=seed), (t, 100.0 * np.sin(turned), 100.0 * np.cos(turned)))
        arrive = whole.report_t_ns + 1e6 * late_ms * np.abs(rng.standard_normal(len(whole.report_t_ns)))
        some = rng.random(len(arrive)) >= lost
        take = kept(whole, some, np.maximum.accumulate(arrive).astype(np.int64))
        wait = next(r for r in CHECK.assess(take, LIMITS).readings if r.name == "wait_mean")
        held += abs((wait.value or 0.0) - true) <= wait.uncertainty
    assert held >= 20


@pytest.mark.parametrize("on_change", [False, True], ids=["all the time", "on change"])
@pytest.mark.parametrize("lost", [0.1, 0.3])
def test_dropped_reports_lengthen_the_wait(lost: float, on_change: bool) -> None:
    """Each report arrives with probability q: the mean wait is T(2 − q)/2q, that of a geometric number of periods. Of
    twenty drawn tries 17 hold it within their U (of 19 expected)."""
    take, q, held = unit_take(Device(125, 12, on_change), circles()), 1.0 - lost, 0
    for seed in range(20):
        arrive = np.random.default_rng(seed).random(len(take.report_t_ns)) < q
        result = CHECK.assess(kept(take, arrive), LIMITS)
        wait = next(r for r in result.readings if r.name == "wait_mean")
        held += abs((wait.value or 0.0) - 8.0 * (2 - q) / (2 * q)) <= wait.uncertainty
        assert not [f.code for f in result.findings if f.code != "gaps"]
    assert held >= 17


def test_the_reports_of_a_burst_are_one_moment() -> None:
    """Four reports of a 250 Hz device at a time: sixteen ms from burst to burst, whatever lies inside."""
    take = unit_take(Device(250, 12), circles())
    late = np.arange(len(take.report_t_ns))
    due = take.report_t_ns[np.minimum(late // 4 * 4 + 3, len(late) - 1)] + late % 4 * 300_000
    found = waits(kept(take, late >= 0, due))
    assert found["wait_mean"] == pytest.approx(8.0, rel=0.02)
    assert found["longest"] == pytest.approx(16.0, rel=0.05)


def test_many_stalls_too_short_for_gaps_are_irregular() -> None:
    """45 ms of silence and ten reports at 2 ms, over and over: half of the median is 1 ms, the wait ten times that."""
    take = unit_take(Device(500, 12), circles())
    result = CHECK.assess(kept(take, take.report_t_ns // 1_000_000 % 65 >= 45), LIMITS)
    assert result.outcome is Outcome.FAIL
    assert [f.code for f in result.findings] == ["irregular"]
    assert sentence("link", result.findings[0]).startswith("link: reports come irregularly, a movement waits 1")
    (said,) = [r.reason for r in result.readings if r.name == "wait_mean"]
    assert said.startswith("a movement waits up to 4")


@pytest.mark.parametrize(
    ("bus", "radio", "said"),
    [("usb", 0.0, "USB"), ("bluetooth", 1.0, "radio"), ("simulated", None, ""), ("", None, "")],
)
def test_the_link_in_use_is_told(bus: str, radio: float | None, said: str) -> None:
    readings = CHECK.assess(replace(unit_take(Device(), circles()), bus=bus), LIMITS).readings
    told = [(r.value, r.reason) for r in readings if r.name == "over_radio"]
    assert [v for v, _ in told] == ([] if radio is None else [radio])
    assert all(said in reason for _, reason in told)


def test_it_applies_to_the_whole_unit() -> None:
    take = unit_take(Device(), rest(0, 0))
    assert CHECK.applies(None, take.sheet)
    assert not CHECK.applies(STICK, take.sheet)
