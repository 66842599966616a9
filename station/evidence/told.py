"""The evidence of a result in words: for the foot of its picture, and for those who do not see it."""

from __future__ import annotations

from collections.abc import Iterator

from station.checks.looked import Picture
from station.evidence.between import between, closed_between
from station.evidence.drawing import Evidence
from station.measure.arrays import NS_PER_MS, NS_PER_S
from station.records.types import Result, Unit, UnitHistory
from station.words import common, figures, grammar
from station.words import evidence_room as words

FEW_KINDS = 3
FEW_MS = 1.0
"""a time shorter than this is told in microseconds"""


def summary(evidence: Evidence) -> str:
    """What was measured, how much of it was used, and what is marked: a few sentences."""
    said = [
        words.SUMMARY.format(
            title=evidence.title,
            outcome=common.OUTCOMES[evidence.outcome.value],
            reports=grammar.count_of(evidence.reports, words.REPORTS),
            time=duration(evidence.lasted_ns),
        )
    ]
    parts = evidence.looked.parts
    if parts:
        used = sum(p.end_ns - p.begin_ns for p in parts if not p.why)
        said.append(words.USED.format(time=duration(used)))
    said += [words.LEFT_OUT.format(time=duration(ns), why=why) for why, ns in _left_out(evidence).items()]
    if len(evidence.silent_ns):
        silences = grammar.count_of(len(evidence.silent_ns), words.SILENCES)
        said.append(words.SILENT.format(silences=silences))
    if evidence.lost:
        said.append(words.LOST.format(reports=grammar.count_of(evidence.lost, words.REPORTS)))
    told = dict.fromkeys(stop.text for stop in evidence.stops)
    said += [words.FOUND.format(finding=grammar.sentence_start(text).rstrip(".")) for text in told]
    if evidence.remark:
        said.append(evidence.remark)
    return " ".join(said)


def _left_out(evidence: Evidence) -> dict[str, int]:
    """Why something was left out → ns in all."""
    found: dict[str, int] = {}
    for part in evidence.looked.parts:
        if part.why:
            found[part.why] = found.get(part.why, 0) + part.end_ns - part.begin_ns
    return found


def legend(evidence: Evidence, picture: Picture) -> str:
    """What the signs of a picture mean, as far as it has them."""
    said = [words.LEGENDS[picture]]
    if picture == "time" and not evidence.over_time.lines:
        said = []
    if picture == "time" and evidence.over_time.contacts:
        said.append(words.BARS)
    parts = evidence.looked.parts if picture == "time" else ()
    if any(not p.why for p in parts):
        said.append(words.SHADED)
    if left := tuple(dict.fromkeys(p.why for p in parts if p.why)):
        said.append(words.HATCHED.format(why="; ".join(left)))
    levels = evidence.over_time.levels if picture == "time" else ()
    if picture == "intervals" and evidence.waits is not None:
        levels = evidence.waits.levels
    if levels:
        said.append(words.DASHED.format(limits=grammar.listed([level.text for level in levels])))
    limit = evidence.path.limit_pct if picture == "path" and evidence.path is not None else 0.0
    if picture == "cloud" and evidence.cloud is not None:
        limit = evidence.cloud.limit_pct
    if picture == "cloud" and evidence.cloud is not None:
        said += [words.RINGS] if len(evidence.cloud.settled) > 1 else []
        said += [words.SET_ASIDE] if len(evidence.cloud.set_aside) else []
    if limit:
        value = figures.with_unit(figures.plain(limit), words.TRAVEL_UNIT)
        said.append(words.DASHED.format(limits=words.LIMIT.format(value=value)))
    return " ".join((*said, *_marks_told(evidence, picture)))


def _marks_told(evidence: Evidence, picture: Picture) -> Iterator[str]:
    """What its diamonds, circles, rings and outlines are."""
    looked = evidence.looked
    if picture == "path":
        yield from [words.REACH] if looked.sector_reach is not None else []
        yield from [words.FITTED] if looked.circle is not None else []
        yield from [words.SETTLED] if looked.settled is not None else []
    shown = {
        "time": looked.spots,
        "path": tuple(s for s in looked.spots if s.point is not None),
        "codes": tuple(s for s in looked.spots if s.at_pct is not None),
        "intervals": tuple(s for s in looked.spots if s.faulty),
    }.get(picture, ())
    if any(s.faulty for s in shown):
        yield words.DIAMONDS
    others = tuple(dict.fromkeys(s.text for s in shown if not s.faulty))
    if others and not (picture == "path" and looked.settled is not None):
        yield words.CIRCLES.format(what="; ".join(others) if len(others) <= FEW_KINDS else words.READ_OFF)


def cursors_told(evidence: Evidence, first_s: float | None, second_s: float | None) -> tuple[str, ...]:
    """Where the cursors stand and what lies between them, a line each."""
    at = [s for s in (first_s, second_s) if s is not None]
    if len(at) < 2:
        return tuple(words.CURSOR.format(time=seconds(s)) for s in at)
    begin, end = (evidence.begin_ns + round(s * NS_PER_S) for s in at)
    lines = [words.CURSORS.format(first=seconds(at[0]), second=seconds(at[1]), apart=duration(abs(end - begin)))]
    for line in evidence.over_time.lines:
        found = between(line, begin, end)
        if found is not None:
            shown = {
                name: figures.with_unit(figures.number(getattr(found, name), 2), line.unit)
                for name in ("change", "mean", "rms", "median", "least", "greatest", "peak_to_peak")
            }
            reports = grammar.count_of(found.reports, words.REPORTS)
            lines.append(words.LINE_BETWEEN.format(name=line.name, reports=reports, **shown))
    for contact in evidence.over_time.contacts:
        closed = closed_between(contact, begin, end)
        share = figures.number(100.0 * closed.share, 1)
        times = grammar.count_of(closed.closures, grammar.TIME)
        lines.append(words.CONTACT_BETWEEN.format(name=contact.name, times=times, share=share))
    return tuple(lines)


def seconds(s: float) -> str:
    """A moment of the try: "3.2140 s"."""
    return figures.with_unit(figures.number(s, 4), words.SECONDS)


def duration(ns: int) -> str:
    """A length of time with the unit that suits it: "2.13 s", "906.1 ms", "125 µs"."""
    if ns >= NS_PER_S:
        return figures.with_unit(figures.number(ns / NS_PER_S, 2), words.SECONDS)
    if ns >= FEW_MS * NS_PER_MS:
        return figures.with_unit(figures.number(ns / NS_PER_MS, 1), words.MILLISECONDS)
    return figures.with_unit(figures.number(ns / 1000, 0), words.MICROSECONDS)


def above(unit: Unit, result: Result, what: str) -> str:
    """The line above a picture that is written to a file; `what`: as the room names it."""
    return words.PICTURE_OF.format(tag=unit.tag, model=unit.model, what=what, day=figures.day(result.at))


def named(evidence: Evidence, picture: Picture) -> str:
    """ "Left stick, slow sweep: over time"."""
    return words.OF_PICTURE.format(title=evidence.title, picture=words.PICTURES[picture])


def file_name(history: UnitHistory, result: Result, picture: Picture) -> str:
    """The name of such a file, without its ending: letters, digits, - and _ only."""
    visit = next((v.number for v in history.visits if v.id == result.visit_id), 0)
    name = words.FILE_NAME.format(
        tag=history.unit.tag, visit=visit, check=result.check, control=result.control, picture=picture
    )
    return plain_name(name)


def plain_name(name: str) -> str:
    """The name of a file without what some system does not take."""
    return "".join(c if c.isalnum() or c in "-_" else "_" for c in name)[:120]
