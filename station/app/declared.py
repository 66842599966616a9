"""What a unit itself says it has, beyond what its sheet names: for the certificate, and for whoever asks before."""

from __future__ import annotations

from station.evidence.declared import layouts_in
from station.judgement.tries import verdicts
from station.records.reader import Reader
from station.records.types import UnitHistory
from station.sheets.beyond import Beyond, beyond
from station.sheets.model import Sheet


def beyond_of(store: Reader, history: UnitHistory, sheet: Sheet) -> Beyond:
    """By the descriptors in the recordings of what stands for the unit; nothing where none of them is here."""
    shas = dict.fromkeys(r.capture_sha256 for r in verdicts(history.results).values() if r.capture_sha256)
    return beyond(sheet, layouts_in(store.capture_path(sha256) for sha256 in shas))
