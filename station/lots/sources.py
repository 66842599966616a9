"""What sellers' claims come to, by where lots are bought: how often they are confirmed, not found, something else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from station.judgement.claimed import OPEN
from station.lots.shares import Share, share
from station.records.types import CLAIM_STATES, Lot
from station.words import claims as words
from station.words import common, figures, grammar


@dataclass(frozen=True, slots=True)
class ClaimsOfSource:
    """The claims of all lots of one source. `states`: state → its share of those that are judged; `claims`: how many
    there are."""

    source: str
    lots: int
    claims: int
    states: tuple[tuple[str, Share], ...]

    def sentence(self) -> str:
        said = (
            words.STATE_OF.format(state=common.CLAIM_STATES[state], share=part.words()) for state, part in self.states
        )
        return words.CLAIMS_OF_SOURCE.format(
            source=self.source,
            states=grammar.COMMA.join(said),
            lots=grammar.count_of(self.lots, words.LOTS),
            open=figures.number(self.claims - self.states[0][1].n, 0),
        )


def source_of(lot: Lot) -> str:
    """What a lot's claims are put under: its source, else who sold it."""
    return lot.source or lot.seller


def claims_of(source: str, lots: Iterable[tuple[Lot, Iterable[str]]]) -> ClaimsOfSource | None:
    """`lots`: each with the states of the claims of its units, those with a claim alone. None while none is judged."""
    mine = [tuple(states) for lot, states in lots if source and source_of(lot).casefold() == source.casefold()]
    counts = Counter(state for states in mine for state in states)
    judged = [state for state in counts.elements() if state != OPEN]
    found = ((state, share(one == state for one in judged)) for state in CLAIM_STATES if state != OPEN)
    states = tuple((state, part) for state, part in found if part is not None)
    return ClaimsOfSource(source, sum(map(bool, mine)), counts.total(), states) if states else None
