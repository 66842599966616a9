"""Does learning bear that each step ends as soon as the hand is done? Run: python tests/bench/teach_early.py [pads]

Each made-up pad is walked twice, without slips: with every step's whole time, and with each ended 0.3 s after the
movement, yet not before the least time that a lesson gives. Prints one JSON line: what became of the controls, and how
long a walk takes.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from station.bench.teaching import LEAST_SHARE
from station.hid.descriptor import parse_descriptor
from station.sheets.learn import LearnStep, Observed, learn, walk
from tests.app.taught_pad import steady_pad
from tests.sheets.learn_hand import GRID_HZ, NO_SLIPS, Canvas, _act, walked
from tests.sheets.learn_pads import Pad
from tests.sheets.learn_truth import judged

AFTER_S = 0.3


def done_s(pad: Pad, step: LearnStep, seed: int) -> float:
    """When the hand's last movement of this step ends, drawn as `walked` draws it; 0 where it does nothing."""
    canvas = Canvas.blank(pad, step.seconds + 4)
    _act(canvas, pad, step, 0.0, np.random.default_rng((pad.seed, seed, 9)), NO_SLIPS)
    courses = [*canvas.triggers.values(), *canvas.buttons.values()]
    courses += [axis for pair in canvas.sticks.values() for axis in pair]
    courses += [hat != -1 for hat in canvas.hats.values()]
    return max((float(np.flatnonzero(c).max(initial=0)) for c in courses), default=0.0) / GRID_HZ


def taken(pad: Pad, early: bool) -> list[Observed]:
    """The walk, step by step."""
    seen, at = [], 0.0
    for seed, step in enumerate(walk(pad.controls)):
        seconds = step.seconds
        if early and step.action not in ("rest", "move"):
            seconds = min(seconds, max(LEAST_SHARE * seconds, done_s(pad, step, seed) + AFTER_S))
        whole = walked(pad, [step], seed=seed, slips=NO_SLIPS, begin_s=at)[0]
        end_ns = whole.begin_ns + round(seconds * 1e9)
        n = int((whole.block.t_ns < end_ns).sum())
        b = whole.block
        block = replace(b, t_ns=b.t_ns[:n], size=b.size[:n], raw=b.raw[:n])
        seen.append(Observed(step, block, whole.begin_ns, end_ns))
        at += seconds
    return seen


def main() -> None:
    """Both walks with every pad."""
    pads = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    out: dict[str, object] = {"pads": pads}
    for name, early in (("whole time", False), ("ended early", True)):
        counts: Counter[str] = Counter()
        length_s = 0.0
        for seed in range(9100, 9100 + pads):
            pad = steady_pad(seed)
            seen = taken(pad, early)
            layout = parse_descriptor(pad.descriptor) if pad.descriptor else None
            counts.update(judged(pad, learn(seen, layout=layout)).values())
            length_s += seen[-1].end_ns * 1e-9
        out[name] = {**counts, "mean walk s": round(length_s / pads, 1)}
    print(json.dumps(out))


if __name__ == "__main__":
    main()
