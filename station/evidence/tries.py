"""The tries that the marks of a recording bracket, and the takes cut out of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from station.capture.types import Capture, Mark
from station.checks.registry import check_named
from station.checks.takes import take_between
from station.checks.types import Absence, CellSaid, Take
from station.errors import CaptureError
from station.sheets.model import Control, Sheet
from station.sheets.signals import Signal
from station.words import evidence as words


@dataclass(slots=True)
class Try:
    """One go at one check. `end_ns` None: it was begun and never ended. Beats that were withdrawn are gone,
    `taken_back` of them.

    `mass_g`: the mass, in grams, that pressed in the finger's place.
    """

    check: str
    control: str
    begin_ns: int
    witness: str | None
    end_ns: int | None = None
    beats_ns: list[int] = field(default_factory=list)
    taken_back: int = 0
    mass_g: float | None = None
    absences: list[Absence] = field(default_factory=list)
    cell: list[CellSaid] = field(default_factory=list)

    @property
    def key(self) -> tuple[str, str]:
        return self.check, self.control


def tries_of(marks: Iterable[Mark]) -> tuple[Try, ...]:
    """The tries in the order they began. Marks of one moment keep their order; one without a begin of its check and
    control is ignored, since it belongs to nothing. An absence that is still going on ends with its try."""
    found: list[Try] = []
    running: dict[tuple[str, str], Try] = {}
    for mark in sorted(marks, key=lambda m: m.time_ns):
        key = (mark.check, mark.control)
        if mark.event == "begin":
            running[key] = Try(*key, mark.time_ns, mark.witness, mass_g=mark.mass_g)
            found.append(running[key])
            continue
        one = running.get(key)
        if one is None:
            continue
        one.witness = one.witness or mark.witness
        if mark.event == "beat":
            one.beats_ns.append(mark.time_ns)
        elif mark.event == "void":
            if one.beats_ns:
                one.beats_ns.pop()
                one.taken_back += 1
        elif mark.event == "cell":
            if mark.level_pct is not None:
                one.cell.append(CellSaid(mark.time_ns, mark.level_pct, mark.step_pct or 0.0))
        else:
            _end_absence(one, mark.time_ns)
            if mark.event in ("away", "unwatched"):
                one.absences.append(Absence(mark.time_ns, _GOES_ON, mark.event == "away"))
            elif mark.event == "end":
                one.end_ns = mark.time_ns
                del running[key]
    return tuple(found)


_GOES_ON = -1


def _end_absence(one: Try, at_ns: int) -> None:
    if one.absences and one.absences[-1].end_ns == _GOES_ON:
        one.absences[-1] = replace(one.absences[-1], end_ns=at_ns)


def take_of(one: Try, capture: Capture, sheet: Sheet, signals: Mapping[str, Signal]) -> Take:
    """The evidence of a try; one that was never ended runs to the last report.

    CaptureError if the marks name a check or a control that does not fit the sheet.
    """
    t_ns = capture.block.t_ns
    last = max(one.begin_ns, int(t_ns[-1])) if len(t_ns) else one.begin_ns
    end_ns = last if one.end_ns is None else one.end_ns
    absences = (replace(a, end_ns=max(end_ns, a.begin_ns)) if a.end_ns == _GOES_ON else a for a in one.absences)
    take = take_between(
        sheet,
        signals,
        one.begin_ns,
        end_ns,
        t_ns,
        control=_control(one, sheet),
        beats_ns=tuple(one.beats_ns),
        taken_back=one.taken_back,
        witness=_witness(one, sheet),
        lost=capture.meta.lost,
    )
    return replace(take, bus=capture.meta.bus, absences=tuple(absences), cell=tuple(one.cell))


def _control(one: Try, sheet: Sheet) -> Control | None:
    check = check_named(one.check, sheet)
    if check is None:
        raise CaptureError(words.CHECK_UNKNOWN.format(check=one.check))
    control = _named(one.control, sheet) if one.control else None
    if not check.applies(control, sheet):
        what = one.control or words.THE_WHOLE_UNIT
        raise CaptureError(words.CHECK_MISPLACED.format(check=one.check, control=what))
    return control


def _witness(one: Try, sheet: Sheet) -> str | None:
    return None if one.witness is None else _named(one.witness, sheet).id


def _named(control_id: str, sheet: Sheet) -> Control:
    for control in sheet.controls:
        if control.id == control_id:
            return control
    raise CaptureError(words.CONTROL_UNKNOWN.format(control=control_id, sheet=sheet.name))
