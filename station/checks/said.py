"""A check's readings, limits and findings in words: the same in the window, on a certificate and by `assess`.

Numbers are written in a style; none is the one of the screen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from station.checks.base import spoken
from station.checks.decide import reading_outcome
from station.checks.registry import check_named, describe, finding_kind, reading_kind, unseen
from station.checks.types import UNCERTAINTY_OF, Assessment, Finding, FindingKind, Outcome, ParamValue, Reading
from station.sheets.model import Sheet
from station.words import checks as words
from station.words import common, figures, grammar
from station.words import grades as grade_words
from station.words import readings as reading_words
from station.words import unseen as unseen_words
from station.words.figures import Style, with_unit

# --- readings -------------------------------------------------------------------------------------------


def reading_name(check: str, name: str) -> str:
    """A reading's name in words: ("rest", "noise_pp_x") → "noise, peak to peak, horizontal"."""
    return reading_names(check, name)[0]


def reading_names(check: str, name: str) -> tuple[str, ...]:
    """The name as it is said, and shorter ones for where there is less room, longest first."""
    kind, part = reading_kind(check, name)
    brief = kind.short or kind.words
    if not part:
        return tuple(dict.fromkeys((kind.words, brief)))
    whole = {**common.AXES, **words.DIRECTIONS}.get(part, part)
    short = reading_words.AXES_SHORT.get(part, whole)
    pairs = ((kind.words, whole), (kind.words, short), (brief, short))
    return tuple(dict.fromkeys(reading_words.PART.format(name=name, part=part) for name, part in pairs))


def value_text(check: str, reading: Reading, style: Style | None = None) -> str:
    """Value, uncertainty and unit by the one rule of digits: "10.23 ± 0.31 %"; or why there is no value."""
    if reading.value is None or not math.isfinite(reading.value):
        return reading.reason or reading_words.NO_VALUE
    kind, _ = reading_kind(check, reading.name)
    text = figures.figure(reading.value, reading.uncertainty, _digits(kind.digits, reading), style)
    return with_unit(text, _unit(reading))


def bare_value(check: str, reading: Reading, style: Style | None = None, *, unit: bool = True) -> str:
    """The value alone, to the same place as in `value_text`: "10.23 %"; "" where there is none."""
    if reading.value is None or not math.isfinite(reading.value):
        return ""
    kind, _ = reading_kind(check, reading.name)
    text = figures.bare(reading.value, reading.uncertainty, _digits(kind.digits, reading), style)
    return with_unit(text, _unit(reading)) if unit else text


def limit_text(reading: Reading, style: Style | None = None) -> str:
    """ "≤ 5" or "≥ 95"; empty for a value that is only reported."""
    if reading.limit is None:
        return ""
    template = reading_words.AT_MOST if reading.rule == "<=" else reading_words.AT_LEAST
    return template.format(limit=figures.plain(reading.limit, style))


def limits_text(reading: Reading, style: Style | None = None) -> str:
    """The limit, and beyond which it fails whatever its uncertainty: "≤ 5 · fails > 10".

    A count that cannot lie between the two has but one limit.
    """
    limit, beyond = limit_text(reading, style), reading.fail_beyond
    if reading.limit is None or beyond is None or beyond == reading.limit:
        return limit
    if not _unit(reading) and abs(beyond - reading.limit) < 1:
        return limit
    template = reading_words.FAILS_ABOVE if reading.rule == "<=" else reading_words.FAILS_BELOW
    return template.format(limit=limit, beyond=figures.plain(beyond, style))


def verdict_text(check: str, reading: Reading, style: Style | None = None) -> str:
    """A judged reading as a line: "off centre 10.23 ± 0.31 %, should be at most 5 %"."""
    name, value = reading_name(check, reading.name), value_text(check, reading, style)
    if reading.limit is None:
        return reading_words.REPORTED.format(name=name, value=value)
    limit = with_unit(figures.plain(reading.limit, style), _unit(reading))
    template = reading_words.SHOULD_AT_MOST if reading.rule == "<=" else reading_words.SHOULD_AT_LEAST
    return template.format(name=name, value=value, limit=limit)


def marked(limit: str, origin: str | None) -> str:
    """A limit with the word for where it comes from; those that ship bear none: "≤ 4 · shop"."""
    mark = grade_words.ORIGINS.get(origin or "", "")
    return grade_words.LIMIT_FROM.format(limit=limit, origin=mark) if limit and mark else limit


def remarks(check: str, done: Assessment, style: Style | None = None, *, whole: bool = False) -> tuple[str, ...]:
    """What the readings of a try say of themselves in words, each once: "least dead zone 6.0 %: …"; `whole`: with the
    uncertainty, "6.00 ± 0.40 %".

    Those that always have something to say, those that do not pass, and after "again, please" those that were not
    judged.
    """
    found = (_remark(check, r, style, whole) for r in done.readings if r.reason and _speaks(check, r, done))
    return tuple(dict.fromkeys(found))


def _speaks(check: str, reading: Reading, done: Assessment) -> bool:
    kind, _ = reading_kind(check, reading.name)
    if kind.noted and reading.value is not None:
        return True
    if reading_outcome(reading) not in (None, Outcome.PASS):
        return True
    return bool(done.again) and bool(kind.limit) and reading.limit is None


def _remark(check: str, reading: Reading, style: Style | None, whole: bool) -> str:
    name = reading_name(check, reading.name)
    if reading.value is None:
        return reading_words.REASON.format(name=name, reason=reading.reason)
    value = value_text(check, reading, style) if whole else spoken_value(check, reading, style)
    return reading_words.VALUE_AND_REASON.format(name=name, value=value, reason=reading.reason)


def spoken_value(check: str, reading: Reading, style: Style | None = None, *, unit: bool = True) -> str:
    """The value as a sentence or a table of visits has it, to the first digit of its uncertainty: "6.2 %"; or why there
    is none."""
    if reading.value is None or not math.isfinite(reading.value):
        return value_text(check, reading, style)
    kind, _ = reading_kind(check, reading.name)
    text = figures.spoken(reading.value, reading.uncertainty, _digits(kind.digits, reading), style)
    return with_unit(text, _unit(reading)) if unit else text


def cannot_see(check: str, readings: Iterable[Reading]) -> tuple[str, ...]:
    """What the check, and these readings of it, cannot see, each once."""
    found = (unseen(check, r.name) for r in readings if r.value is not None)
    return tuple(dict.fromkeys(text for text in (describe(check).unseen, *found) if text))


def cannot_be_seen(check: str, readings: Iterable[Reading]) -> str:
    """The same as one text, without what another phrase of it says already."""
    phrases = dict.fromkeys(phrase for text in cannot_see(check, readings) for phrase in text.split(unseen_words.NEXT))
    begun = tuple(phrase + grammar.COMMA for phrase in phrases)
    return unseen_words.NEXT.join(
        one for one, more in zip(phrases, begun, strict=True) if not any(other.startswith(more) for other in phrases)
    )


def _unit(reading: Reading) -> str:
    return "" if reading.unit == "count" else reading.unit


def _digits(digits: int, reading: Reading) -> int:
    """A count that is none (of an older version, or a mean of counts) keeps one decimal."""
    whole = reading.value is not None and abs(math.remainder(reading.value, 1.0)) < 1e-9
    return digits if digits or whole or reading.unit else 1


# --- checks and findings -------------------------------------------------------------------------------------------


def title_on(check: str, control: str, sheet: Sheet) -> str:
    """What was checked on what, inside a sentence: "left stick, at rest"."""
    known = check_named(check, sheet)
    here = next((c for c in sheet.controls if c.id == control), None)
    return grammar.check_of(words.TITLE, spoken(here), known.title if known else check)


def sentence(check: str, finding: Finding, style: Style | None = None) -> str:
    """The finding in a sentence, made of its code and parameters.

    One from before findings had parameters says what was written down, and so does one whose check is gone.
    """
    return sentence_of(check, finding_kind(check, finding.code), finding, style)


def sentence_of(check: str, kind: FindingKind | None, finding: Finding, style: Style | None = None) -> str:
    """The finding in the sentence of `kind`, or as it was written down where there is none."""
    if kind is None or not finding.params:
        return finding.text or _unknown(finding)
    params = finding.params
    try:
        template = kind.says if isinstance(kind.says, str) else kind.says(params)
        shown = {name: _shown(check, kind, name, finding, style) for name in params}
        who = str(params.get("who") or words.UNIT)
        return template.format(**{**shown, "who": who, "where": place(who, finding.axis, finding.direction, style)})
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        # parameters of another version's finding, or a fault in the description
        return finding.text or _unknown(finding)


def place(who: str, axis: str | None = None, direction: str | float | None = None, style: Style | None = None) -> str:
    """Where a finding sits: "left stick, horizontal", "left stick, right", "left stick at 95°"."""
    if isinstance(direction, str):
        return words.AT_PART.format(who=who, part=words.DIRECTIONS.get(direction, direction))
    if direction is not None:
        return words.AT_BEARING.format(who=who, bearing=figures.number(direction, 0, style))
    if axis is not None:
        return words.AT_PART.format(who=who, part=common.AXES[axis])
    return who


def _shown(check: str, kind: FindingKind, name: str, finding: Finding, style: Style | None) -> str:
    """A parameter in words; one that is a reading's value to the same place as in `value_text`, without its ±."""
    value, show = finding.params[name], kind.shown.get(name, _as_it_is)
    if not isinstance(show, str):
        return show(value, style)
    uncertainty = finding.params.get(UNCERTAINTY_OF.format(name=name), 0.0)
    if not isinstance(value, int | float) or not isinstance(uncertainty, int | float):
        raise TypeError(f"{name} of {finding.code} is no number")
    return figures.bare(value, uncertainty, reading_kind(check, show)[0].digits, style)


def _as_it_is(value: ParamValue, style: Style | None) -> str:
    return figures.plain(value, style) if isinstance(value, int | float) else str(value)


def _unknown(finding: Finding) -> str:
    code = finding.code.replace("_", " ")
    who = str(finding.params.get("who", ""))
    return reading_words.UNKNOWN_FINDING_OF.format(who=who, code=code) if who else code
