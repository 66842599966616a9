"""Realised error rates of the light press: the real check on drawn tries at the good and at the bad share of faults.

    python tests/bench/light.py [--units 1000] [--seed N]

Per scene: share of sound buttons (1 % faulty presses) failed, share of bad ones (10 %) passed, beats until the end.
Both error rates should stay within 5 % and twice the simulation's own standard error. A fresh seed unless told one.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from station.checks.light import plan_of
from station.measure.sequential import characteristic
from tests.checks.button_moves import LIMITS
from tests.checks.drawn_presses import SCENES, score

ROW = "{:50} {:>12} {:>12} {:>12} {:>12} {:>8} {:>8}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--units", type=int, default=1000, help="buttons per scene and share")
    parser.add_argument("--seed", type=int, default=None)
    asked = parser.parse_args()
    seed = asked.seed if asked.seed is not None else int(np.random.SeedSequence().generate_state(1)[0])
    plan = plan_of(LIMITS)
    began = time.perf_counter()
    print(
        f"seed {seed}, {asked.units} buttons per scene and share; good {plan.p0:.0%}, bad {plan.p1:.0%} faulty presses"
    )
    print(ROW.format("scene", "good failed", "good border", "bad passed", "bad border", "median", "most"))
    found = []
    for number, scene in enumerate(SCENES):
        rng = np.random.default_rng([seed, number])
        good, bad = (score(rng, scene, p, asked.units) for p in (plan.p0, plan.p1))
        shares = (good.failed, good.borderline, bad.passed, bad.borderline)
        print(ROW.format(scene.name, *(f"{s:.1%}" for s in shares), f"{good.median_beats:.0f}", good.most_beats))
        found.append(
            {
                "scene": scene.name, "good_failed": good.failed, "good_borderline": good.borderline,
                "bad_passed": bad.passed, "bad_borderline": bad.borderline, "median_beats_good": good.median_beats,
                "not_counted": good.undone + bad.undone,
            }
        )  # fmt: skip
    exact = [characteristic(plan, p) for p in (plan.p0, plan.p1)]
    print(f"exact, presses told rightly: good failed {exact[0].reject:.1%}, bad passed {exact[1].accept:.1%}")
    margin = 2.0 * float(np.sqrt(0.05 * 0.95 / asked.units))
    worst = max(max(row["good_failed"], row["bad_passed"]) for row in found)
    line = {
        "benchmark": "light", "seed": seed, "units": asked.units, "worst_error_rate": worst, "allowed": 0.05 + margin,
        "median_beats_good": max(row["median_beats_good"] for row in found),
        "exact": {"good_failed": exact[0].reject, "bad_passed": exact[1].accept}, "scenes": found,
        "seconds": round(time.perf_counter() - began, 1),
    }  # fmt: skip
    print(json.dumps(line))
    return 0


if __name__ == "__main__":
    sys.exit(main())
