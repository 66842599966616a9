"""A pad that no HID driver presents, unplugged again and again in a visit, in real time through the reader
process: each running check ends as interrupted with its evidence and goes on when it is back."""

from __future__ import annotations

import logging
import random

import pytest

from tests.bench.unplug import Errors, on_the_rig
from tests.rig import fakehid

pytestmark = pytest.mark.skipif(fakehid.unavailable() != "", reason=fakehid.unavailable() or "the rig runs")
TIMES = 10
"""`python tests/bench/unplug.py --claimed 100 --rig 0 --simulated 0` does a hundred"""


def test_no_unplug_costs_what_was_recorded() -> None:
    errors = Errors()
    logging.getLogger().addHandler(errors)
    try:
        ledger, left = on_the_rig(TIMES, random.Random(15), is_claimed=True)
    finally:
        logging.getLogger().removeHandler(errors)
    assert ledger.broken == []
    assert errors.lines == []
    assert ledger.counts["unplugs"] >= TIMES
    assert ledger.counts["interrupted"] + ledger.counts["between checks"] + ledger.counts["failed the link"] >= TIMES
    assert ledger.counts["interrupted"] > 0
    assert ledger.counts["reports kept"] > 0
    assert left["files_left_open"] < 3 * TIMES, "of those of each unplug some are still open"
