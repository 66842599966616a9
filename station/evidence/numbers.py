"""What a picture over time shows, as a table that a spreadsheet reads."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

import numpy as np

from station.evidence.drawing import Contact, Evidence, Line
from station.measure.arrays import NS_PER_S
from station.records.export import cell

HEADS = ("what", "unit", "time_s", "value")
"""the columns: the same in every language, since programs read them"""


def table(evidence: Evidence, begin_s: float, end_s: float) -> str:
    """CSV (RFC 4180): each report of each line in the stretch, and each closing (1) and opening (0) of a contact, with
    the time since the check began. A line begins with the value that held at the beginning of the stretch."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADS)
    begin, end = (evidence.begin_ns + round(s * NS_PER_S) for s in (begin_s, end_s))
    for line in evidence.over_time.lines:
        writer.writerows(_rows(line, evidence.begin_ns, begin, end))
    for contact in evidence.over_time.contacts:
        writer.writerows(_edges(contact, evidence.begin_ns, begin, end))
    return out.getvalue()


def _rows(line: Line, nought_ns: int, begin_ns: int, end_ns: int) -> Iterator[tuple[str, str, str, str]]:
    first = max(int(np.searchsorted(line.t_ns, begin_ns, side="right")) - 1, 0)
    stop = int(np.searchsorted(line.t_ns, end_ns, side="right"))
    for t_ns, value in zip(line.t_ns[first:stop].tolist(), line.values[first:stop].tolist(), strict=True):
        yield cell(line.name), line.unit, _seconds(t_ns - nought_ns), f"{value:.6g}"


def _edges(contact: Contact, nought_ns: int, begin_ns: int, end_ns: int) -> Iterator[tuple[str, str, str, str]]:
    edges = [(t, "1") for t in contact.start_ns.tolist()] + [(t, "0") for t in contact.end_ns.tolist()]
    for t_ns, value in sorted(edges):
        if begin_ns <= t_ns <= end_ns:
            yield cell(contact.name), "", _seconds(t_ns - nought_ns), value


def _seconds(ns: int) -> str:
    return f"{ns / NS_PER_S:.9f}"
