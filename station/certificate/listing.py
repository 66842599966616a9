"""The text for an offer, made of what a certificate says, by a template in the shop's hands. Pure."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from string import Formatter
from typing import Any

from station import RESOURCES
from station.capture.regular import read_regular
from station.capture.text import plain_text
from station.certificate.content import FORMAT, to_json
from station.certificate.types import Certificate
from station.errors import InputError
from station.words import certificate, common, figures, grammar
from station.words import listing as words

TEMPLATE = "listing.txt"
"""of the shop, in the folder of its records; the one that ships has the same name"""
_SAID = (
    "tag", "model", "serial", "standing", "summary", "not_tested", "grade", "passed", "borderline", "failed", "older",
)  # fmt: skip
MOST_SIGNS, MOST_BYTES = 8000, 64_000
FIELDS = (
    "model", "tag", "serial", "headline", "grade", "faults", "faults_besides", "done", "tested", "not_tested", "shop",
    "contact", "day", "number", "fingerprint", "page",
)  # fmt: skip
"""what a template may name; `faults_besides`: the faults, where the headline does not name every one of them"""


def facts_of(content: bytes, fingerprint: str, where: str = "") -> dict[str, str]:
    """What the template's fields stand for, from the content of a certificate; `where` buyers find the page that checks
    it. InputError where it is none of today."""
    try:
        body = json.loads(content)
        told: Mapping[str, Any] = body["certificate"]
        standing, grade = told["standing"], told.get("grade") or {}
        if body["format"] != FORMAT:
            raise KeyError("format")
        done = [grammar.COMMA.join(filter(None, (_kind(t), str(t["part"])))) for t in told["treatments"]]
        tested = [_tested(one) for one in told["summary"] if one["outcome"] in ("pass", "borderline")]
        faults = "; ".join(standing["faults"]) or (words.NO_FAULT if standing["kind"] == "passed" else "")
        found = {
            "model": told["model"],
            "tag": told["tag"],
            "serial": told["serial"],
            "headline": standing["headline"],
            "grade": grade["said"] if grade.get("name") else "",
            "faults": faults,
            "faults_besides": "" if _names_all(standing) else faults,
            "done": "; ".join(done),
            "tested": grammar.COMMA.join(tested),
            "not_tested": "; ".join((*told["not_tested"], *_older(told["controls"]))),
            "shop": told["bench"],
            "contact": told["contact"],
            "day": figures.day(str(told["issued_at"]), figures.PAPER),
            "number": told["number"],
        }
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise InputError(words.NO_CERTIFICATE.format(path="certificate.json")) from error
    facts = {name: plain_text(str(value), 2000) for name, value in found.items()}
    page = f"{where}#{fingerprint.replace(' ', '')}" if where else words.PAGE_SENT
    return facts | {"fingerprint": fingerprint, "page": page if fingerprint else ""}


def _names_all(standing: Mapping[str, Any]) -> bool:
    """Whether the headline names every fault already, so that nobody has to read them twice."""
    return bool(standing["faults"]) and all(fault in standing["headline"] for fault in standing["faults"])


def _tested(line: Mapping[str, Any]) -> str:
    """A control that did not fail, with what is said of it: that some of its checks were not done, or what is near a
    limit of it."""
    said = str(line["said"])
    if line["outcome"] == "borderline" and not said.startswith(certificate.OUTCOMES["borderline"]):
        return (words.NEAR_LIMIT_SAID if said else words.NEAR_LIMIT).format(control=line["name"], said=said)
    return words.PARTLY.format(control=line["name"], said=said) if said else str(line["name"])


def _older(blocks: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Checks that were done before the work on the unit and not again: nobody knows what they would say now."""
    for block in blocks:
        for line in block["lines"]:
            if line["older"]:
                name = str(block["name"])
                whole = grammar.check_of(certificate.CHECK_OF, name, line["title"]) if name else str(line["title"])
                yield words.NOT_SINCE.format(check=whole)


def still_says(content: bytes, now: Certificate) -> bool:
    """Whether a certificate written now would say the same of the unit; a number, a day or a shop may be another."""
    before, after = (_of_the_unit(json.loads(one)["certificate"]) for one in (content, to_json(now)))
    return before == after


def _of_the_unit(told: Mapping[str, Any]) -> list[object]:
    """What an offer says of it; not what minutes and costs were printed."""
    done = [[one[name] for name in ("at", "kind", "part")] for one in told["treatments"]]
    return [done, *(told.get(name) for name in _SAID)]


def _kind(treatment: Mapping[str, Any]) -> str:
    return common.TREATMENT_KINDS.get(str(treatment["kind"]), str(treatment["kind"]))


def listing_text(facts: Mapping[str, str], own: Path | None = None) -> str:
    """The text by the shop's template, or the one that ships. A line whose fields are all empty is left out.
    InputError names what is wrong with the shop's file."""
    path = own if own is not None and own.exists() else RESOURCES / TEMPLATE
    lines = (_filled(line, facts, path) for line in _template(path).splitlines())
    return "\n".join(line for line in lines if line is not None).strip() + "\n"


def _template(path: Path) -> str:
    try:
        text = read_regular(path, MOST_BYTES).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else error.reason
        raise InputError(words.UNREADABLE.format(path=path, reason=reason)) from error
    if len(text) > MOST_SIGNS:
        raise InputError(words.TOO_LONG.format(path=path, most=MOST_SIGNS))
    return text


def _filled(line: str, facts: Mapping[str, str], path: Path) -> str | None:
    """A template's line with its fields in place; None where it has fields and all of them are empty.

    Only names are filled in: no attribute, no index and no format of a template is ever asked for.
    """
    out, named = [], []
    try:
        for text, field, spec, conversion in Formatter().parse(line):
            out.append(text)
            if field is None:
                continue
            if field not in FIELDS or spec or conversion:
                raise InputError(words.NO_SUCH_FIELD.format(path=path, field=field, fields=grammar.COMMA.join(FIELDS)))
            named.append(facts[field])
            out.append(facts[field])
    except ValueError as error:
        raise InputError(words.NOT_A_TEMPLATE.format(path=path, reason=error)) from error
    return None if named and not any(named) else "".join(out)
