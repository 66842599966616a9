"""What a certificate that was written still is: one rule for the window, the list and whoever asks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from station.records.types import Issued, UnitHistory, Withdrawal

State = Literal["genuine", "replaced", "withdrawn"]


@dataclass(frozen=True, slots=True)
class Listed:
    """A certificate and what it is now. `replaced_by`: the number of the latest one of its unit; `reason`: why it was
    withdrawn."""

    issued: Issued
    state: State
    replaced_by: str = ""
    reason: str = ""


def states_of(issued: Iterable[Issued], withdrawn: Mapping[str, Withdrawal]) -> tuple[Listed, ...]:
    """Each with what it is now, in the order given. The latest of a unit holds unless it was withdrawn; one that was
    replaced stays so, since whoever has it was sold by words that do not hold any more. `withdrawn`: by the id."""
    every = tuple(issued)
    own: dict[str, list[Issued]] = {}
    for one in every:
        own.setdefault(one.unit_id, []).append(one)
    latest = {unit: latest_of(ones) for unit, ones in own.items()}
    return tuple(_state_of(one, latest[one.unit_id], withdrawn.get(one.id)) for one in every)


def latest_of(issued: Sequence[Issued]) -> Issued:
    """The one that was written last, of at least one: of a bench that with the highest number, whatever its clock said;
    of several benches the last ones by their time."""
    last: dict[str, Issued] = {}
    for one in sorted(issued, key=lambda one: (one.number, one.at, one.id)):
        last[one.bench_id] = one
    return max(last.values(), key=lambda one: (one.at, one.id))


def holding(history: UnitHistory) -> Issued | None:
    """The certificate of the unit that holds now, which a new one would replace; None where none does."""
    taken_back = {w.entry.id: w.by for w in history.withdrawn if isinstance(w.entry, Issued)}
    every = (*history.certificates, *(w.entry for w in history.withdrawn if isinstance(w.entry, Issued)))
    return next((one.issued for one in states_of(every, taken_back) if one.state == "genuine"), None)


def _state_of(one: Issued, latest: Issued, by: Withdrawal | None) -> Listed:
    after = latest.name if latest.id != one.id else ""
    if by is not None:
        return Listed(one, "withdrawn", after, by.reason)
    return Listed(one, "replaced", after) if after else Listed(one, "genuine")


def gaps(issued: Iterable[Issued]) -> tuple[tuple[str, int], ...]:
    """Numbers that are missing or stand twice, each with its bench; none where the records are whole."""
    numbers: dict[str, list[int]] = {}
    for one in issued:
        numbers.setdefault(one.bench_id, []).append(one.number)
    wrong = []
    for bench, found in numbers.items():
        missing = set(range(1, max(found) + 1)) - set(found)
        twice = {number for number in found if found.count(number) > 1}
        wrong += [(bench, number) for number in sorted(missing | twice)]
    return tuple(wrong)
