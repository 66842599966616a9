"""Bits that move and are nobody's: sensors, noise, and what stays unexplained."""

from __future__ import annotations

import numpy as np

from station.sheets.learn.types import Ignored
from station.sheets.learn.walked import Walked


def leftover(walked: Walked, spoken: set[tuple[int, int]]) -> list[Ignored]:
    """Runs of neighbouring bits that change and that no control, counter or checksum accounts for.

    Those that move while the device is moved or lies untouched are sensors or noise.
    """
    alone = walked.steps_with("rest", "move")
    found: list[Ignored] = []
    for index, stream in enumerate(walked.streams):
        free = [b for b in stream.varying() if b not in walked.taken[index] and (index, b) not in spoken]
        quiet = np.isin(stream.step, alone)
        runs: list[list[int]] = []
        for bit in free:
            if runs and runs[-1][-1] == bit - 1:
                runs[-1].append(bit)
            else:
                runs.append([bit])
        for run in runs:
            rows = stream.number(run[:62], quiet)
            moving = len(rows) > 1 and int((rows[1:] != rows[:-1]).sum()) >= 5
            found.append(Ignored("sensor" if moving else "other", stream.report, run[0], len(run)))
    return found
