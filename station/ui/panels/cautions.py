"""Which cautions stand where a treatment is logged (docs/safety.md)."""

from __future__ import annotations

from station.words import cautions as words

_CAUTIONS = {
    "clean from outside": words.SOLVENT,
    "open and clean": f"{words.HOUSING}\n{words.SOLVENT}",
    "clean the sensor": f"{words.HOUSING}\n{words.SOLVENT}",
    "replace sensor": f"{words.HOUSING}\n{words.HEAT}",
    "replace module": f"{words.HOUSING}\n{words.HEAT}",
    "replace board": words.HOUSING,
    "replace cap or paddle": words.HOUSING,
    "swap with donor part": words.HOUSING,
    "adjust": words.TOOLS,
    "other": words.TOOLS,
}


def caution_for(kind: str) -> str:
    """What to mind for a kind of treatment; never empty."""
    return _CAUTIONS.get(kind, words.TOOLS)
