"""Checks that the person answers: rumble, charge, look, and the asks of a sheet's own."""

from __future__ import annotations

from collections.abc import Iterable

from station.checks.base import again, finding, in_a_row
from station.checks.decide import judged, outcome_of, worst
from station.checks.types import (
    Assessment,
    Description,
    Finding,
    FindingKind,
    Limits,
    Outcome,
    Params,
    Progress,
    Prompt,
    Reading,
    ReadingKind,
    Take,
)
from station.sheets.model import Ask, Control, Sheet
from station.words import checks as words
from station.words import figures, grammar, unseen

METER_U = {"V": 0.03, "A": 0.02}
"""Expanded uncertainty of a plug-in USB meter near 5 V and below 1 A (common practice, no source; k = 2)."""
_SHOW_A_PLUG_LEFT_OFF = ("rumble", "charge", "look")
"""asks of the whole unit that show a motor or a cell without its plug, or a housing that was not closed well"""
METER_NAMES = {"V": "voltage", "A": "current"}
"""names of the readings that a person types in, by what the meter shows; any other unit is its own name"""


class AskCheck:
    """One question. Its outcome is the person's word and, where limits exist, the meter's readings.

    Where a meter is asked for and none was read, “good” is no passing measurement: the outcome is *not done*, without
    an `again`. A fault that the person sees needs no meter.

    `meter`: what the sheet's ask has to be typed in; without a sheet, what the usual meters show.
    """

    def __init__(self, ask_id: str, meter: Iterable[str] = ("V", "A")) -> None:
        self.name = ask_id
        self.title = words.ASKS.get(ask_id, ask_id.replace("_", " ").capitalize())
        self.about = Description(
            kinds=(),
            unseen=unseen.ASK,
            readings=tuple(_kind(ask_id, name, unit) for unit in meter for name in self._names(unit)) + _told(ask_id),
            findings=(FindingKind(ask_id, _sentence, {"meter": in_a_row}), *_stops(ask_id)),
            motors=ask_id == "rumble",
            due_after="any opening" if ask_id in _SHOW_A_PLUG_LEFT_OFF else "its control",
            person_answers=True,
            grip="before the plug" if ask_id == "look" else "answered",
        )

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and self._ask(sheet) is not None

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        ask = self._ask(sheet)
        if ask is None:
            return Prompt(self.title, words.ASK_DO)
        hint = words.ASK_METER.format(meter=grammar.COMMA.join(ask.meter)) if ask.meter else ""
        return Prompt(self.title, ask.text, hint)

    def progress(self, take: Take, limits: Limits) -> Progress:
        readings = self._readings(take, limits)
        done = take.answer is not None
        return Progress(done, "" if done else words.ASK_YOUR_WORD, float(done), readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        readings = self._readings(take, limits)
        if take.answer not in ("pass", "fail"):
            return again(words.ASK_SAY, readings)
        by_word = Outcome(take.answer)
        if by_word is Outcome.PASS and self._unmeasured(take):
            return Assessment(Outcome.NOT_DONE, readings)
        by_meter = outcome_of(readings)
        outcome = by_word if by_meter is Outcome.NOT_DONE else worst((by_word, by_meter))
        return Assessment(outcome, readings, self._findings(by_word, by_meter, take))

    def _unmeasured(self, take: Take) -> bool:
        """Whether a meter was asked for and no figure of it came: a word alone is a look, not a measurement."""
        ask = self._ask(take.sheet)
        return ask is not None and bool(ask.meter) and not take.meter

    def _findings(self, by_word: Outcome, by_meter: Outcome, take: Take) -> tuple[Finding, ...]:
        found = []
        ask = grammar.spoken_name(self.title)
        if by_word is Outcome.FAIL:
            found.append(finding(self.name, None, {"ask": ask}))
        if by_meter in (Outcome.FAIL, Outcome.BORDERLINE):
            shown = tuple(_metered(value, unit) for unit, value in take.meter.items())
            found.append(finding(self.name, None, {"ask": ask, "meter": shown}))
        return tuple(found)

    def _readings(self, take: Take, limits: Limits) -> tuple[Reading, ...]:
        ask = self._ask(take.sheet)
        found: list[Reading] = []
        for unit in ask.meter if ask is not None else tuple(take.meter):
            value = take.meter.get(unit)
            for name in self._names(unit):
                if value is None:
                    found.append(Reading(name, None, unit, reason=words.ASK_NO_METER))
                else:
                    found += judged(self.name, [Reading(name, value, unit, METER_U.get(unit, 0.0), n=1)], limits)
        said = {"charging": take.told.charging, "fully_charged": take.told.full}
        kinds = [kind.name for kind in _told(self.name)]
        found += [
            Reading(name, float(word), "", n=1) for name, word in said.items() if word is not None and name in kinds
        ]
        return tuple(found)

    def _names(self, unit: str) -> tuple[str, ...]:
        """Names of the readings behind one meter entry. VBUS has two limits, so it is read against each."""
        if self.name == "charge" and unit == "V":
            return ("vbus_low", "vbus_high")
        return (METER_NAMES.get(unit, unit),)

    def _ask(self, sheet: Sheet) -> Ask | None:
        return next((ask for ask in sheet.asks if ask.id == self.name), None)


def _metered(value: float, unit: str) -> str:
    """An entry of the meter as it is kept: in one style, whatever the screen's is."""
    return figures.with_unit(figures.plain(value, figures.PAPER), unit)


def _kind(ask_id: str, name: str, unit: str) -> ReadingKind:
    """One entry of the meter. A sheet may give any reading of an ask of its own a limit; of the asks that ship only
    VBUS has one."""
    judged = name.startswith("vbus_") or ask_id not in words.ASKS
    return ReadingKind(
        name, words.METER_READINGS.get(name, name), unit, 2, limit=name if judged else "", unseen=unseen.METER
    )


def _told(ask_id: str) -> tuple[ReadingKind, ...]:
    """What the unit itself says beside the person's word on charging; only reported."""
    if ask_id != "charge":
        return ()
    return ReadingKind("charging", words.LINK_CHARGING, unseen=unseen.LINK_CELL), ReadingKind(
        "fully_charged", words.LINK_FULLY_CHARGED, unseen=unseen.LINK_CELL
    )


def _stops(ask_id: str) -> tuple[FindingKind, ...]:
    """A look may find what nothing is to be done with any more."""
    if ask_id != "look":
        return ()
    return (
        FindingKind(STOP, words.LOOK_STOP, {"sign": lambda sign, style: words.LOOK_SIGNS.get(str(sign), str(sign))}),
    )


def _sentence(params: Params) -> str:
    return words.ASK_METER_SHOWS if "meter" in params else words.ASK_NOT_RIGHT


STOP = "look_stop"
"""the finding of a look that keeps a unit from being plugged in, charged and opened any further"""
SIGNS = ("bulging", "wet", "hot", "smelling", "broken")
"""what a look stops by"""


def looked_over(sign: str = "") -> Assessment:
    """What a look over the unit comes to, before it is plugged in: one of SIGNS was seen; "" : nothing of it."""
    if not sign:
        return Assessment(Outcome.PASS)
    return Assessment(Outcome.FAIL, (), (finding(STOP, None, {"ask": grammar.spoken_name(LOOK.title), "sign": sign}),))


RUMBLE, CHARGE, LOOK = AskCheck("rumble", ()), AskCheck("charge"), AskCheck("look", ())
