"""Checks that the person answers: rumble, charge, look, and the asks of a sheet's own."""

from __future__ import annotations

from station.checks.base import again
from station.checks.decide import judged, outcome_of, worst
from station.checks.limits import METER_NAMES
from station.checks.types import Assessment, DueAfter, Finding, Limits, Outcome, Progress, Prompt, Reading, Take
from station.sheets.model import Ask, Control, Sheet

TITLES = {"rumble": "Rumble", "charge": "Charge", "look": "Look"}
METER_U = {"V": 0.03, "A": 0.02}
"""Expanded uncertainty of a plug-in USB meter near 5 V and below 1 A (common practice, no source; k = 2)."""


class AskCheck:
    """One question. Its outcome is the person's word and, where limits exist, the meter's readings."""

    due_after: DueAfter = "its control"

    def __init__(self, ask_id: str) -> None:
        self.name = ask_id
        self.title = TITLES.get(ask_id, ask_id.replace("_", " ").capitalize())

    def applies(self, control: Control | None, sheet: Sheet) -> bool:
        return control is None and self._ask(sheet) is not None

    def prompt(self, control: Control | None, sheet: Sheet) -> Prompt:
        ask = self._ask(sheet)
        if ask is None:
            return Prompt(self.title, "Look and say whether it is right.")
        hint = f"Type in the meter's reading ({', '.join(ask.meter)})." if ask.meter else ""
        return Prompt(self.title, ask.text, hint)

    def progress(self, take: Take, limits: Limits) -> Progress:
        readings = self._readings(take, limits)
        done = take.answer is not None
        return Progress(done, "" if done else "your word", float(done), readings)

    def assess(self, take: Take, limits: Limits) -> Assessment:
        readings = self._readings(take, limits)
        if take.answer not in ("pass", "fail"):
            return again("say pass or fail", readings)
        by_word = Outcome(take.answer)
        by_meter = outcome_of(readings)
        outcome = by_word if by_meter is Outcome.NOT_DONE else worst((by_word, by_meter))
        return Assessment(outcome, readings, self._findings(by_word, by_meter, take))

    def _findings(self, by_word: Outcome, by_meter: Outcome, take: Take) -> tuple[Finding, ...]:
        found = []
        if by_word is Outcome.FAIL:
            found.append(Finding(self.name, f"{self.title.lower()}: not right, by the person's word"))
        if by_meter in (Outcome.FAIL, Outcome.BORDERLINE):
            shown = ", ".join(f"{value:g} {unit}" for unit, value in take.meter.items())
            found.append(Finding(self.name, f"{self.title.lower()}: the meter shows {shown}"))
        return tuple(found)

    def _readings(self, take: Take, limits: Limits) -> tuple[Reading, ...]:
        ask = self._ask(take.sheet)
        found: list[Reading] = []
        for unit in ask.meter if ask is not None else tuple(take.meter):
            value = take.meter.get(unit)
            for name in self._names(unit):
                if value is None:
                    found.append(Reading(name, None, unit, reason="no meter reading was typed in"))
                else:
                    found += judged(self.name, [Reading(name, value, unit, METER_U.get(unit, 0.0), n=1)], limits)
        return tuple(found)

    def _names(self, unit: str) -> tuple[str, ...]:
        """Names of the readings behind one meter entry. VBUS has two limits, so it is read against each."""
        if self.name == "charge" and unit == "V":
            return ("vbus_low", "vbus_high")
        return (METER_NAMES.get(unit, unit),)

    def _ask(self, sheet: Sheet) -> Ask | None:
        return next((ask for ask in sheet.asks if ask.id == self.name), None)


RUMBLE, CHARGE, LOOK = AskCheck("rumble"), AskCheck("charge"), AskCheck("look")
