"""Faults in words, with the units of their magnitudes."""

from __future__ import annotations

from station.sources.simulated.faults import Fault

_PHRASES: dict[str, str] = {
    "off_centre": "rests {size:g} % off centre",
    "noisy_track": "{size:g} % peak to peak",
    "worn_track": "spikes of {size:g} % around {at:g} %",
    "code_gap": "no codes over {size:g} % around {at:g} %",
    "fold": "runs back by {size:g} % at {at:g} %",
    "short_reach": "reaches {size:g} %",
    "flat_rim": "reaches {size:g} %",
    "slow_arrival": "{ms:g} ms from 80 % to the end",
    "slow_settle": "{ms:g} ms to come to rest",
    "no_return": "stays {size:g} % off centre",
    "scatter": "repeatability {size:g} %",
    "two_way_lag": "the two ways differ by {size:g} %",
    "dead_axis": "no signal",
    "weak_contact": "{size:.0%} of light presses do not register",
    "split": "opens for {ms:g} ms in {size:.0%} of presses",
    "short_contact": "closes for {ms:g} ms only in {size:.0%} of presses",
    "dropouts": "{size:g} dropouts of {ms:g} ms a second while held",
    "stuck": "always closed",
    "never": "never closes",
    "crosstalk": "closes {other} along with it",
    "rest_high": "stands at {size:g} % when let go",
    "short_pull": "reaches {size:g} %",
    "trigger_spikes": "spikes of {size:g} % around {at:g} %",
    "trigger_gap": "no codes over {size:g} % around {at:g} %",
    "trigger_fold": "runs back by {size:g} % at {at:g} %",
    "hat_missing": "never comes, with its neighbours if it is a side",
    "hat_no_null": "the contact of that side is stuck",
    "link_gaps": "{size:g} gaps of {ms:g} ms a second while the cable is flexed",
    "disconnect": "gone {size:g} times a second for {ms:g} ms while the cable is flexed",
    "slow_rate": "{size:g} reports a second",
}


def told(fault: Fault) -> str:
    """The magnitude of a fault in words, with its units."""
    return _PHRASES[fault.kind].format(size=fault.size, at=fault.at, ms=fault.ms, other=fault.other)
