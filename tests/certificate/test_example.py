"""docs/example-certificate.pdf is what the program of today writes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from station.certificate.content import VERSION, to_json
from station.certificate.keys import KnownKey
from station.certificate.pdf_signature import find_signature
from station.certificate.signature import CONTENT_NAME
from station.certificate.unpack import Unpacked, read_pdf
from station.certificate.verify import Verdict, check
from station.words import certificate as words
from tests.certificate.test_readable import full

EXAMPLE = Path(__file__).parents[2] / "docs" / "example-certificate.pdf"
MOST_BYTES = 400_000


@pytest.fixture(scope="module")
def found() -> Unpacked:
    return read_pdf(EXAMPLE.read_bytes())


@pytest.fixture(scope="module")
def content(found: Unpacked) -> dict[str, Any]:
    (data,) = (one.content() for one in found.attached if one.name == CONTENT_NAME)
    return json.loads(data)


def test_it_verifies_and_is_small(found: Unpacked) -> None:
    data = EXAMPLE.read_bytes()
    seal = find_signature(data)
    assert seal is not None
    assert check(data, found, {seal.public: KnownKey("example", seal.public)}).verdict is Verdict.GENUINE
    assert len(data) <= MOST_BYTES


def test_it_says_that_it_is_simulated_wherever_it_has_to(found: Unpacked, content: dict[str, Any]) -> None:
    told = content["certificate"]
    assert told["number"].startswith("SIMULATED-")
    assert told["standing"]["headline"].startswith("SIMULATED, no real unit.")
    assert all(told["number"] in page for page in found.pages)


def test_nothing_in_it_is_later_than_its_own_date(content: dict[str, Any]) -> None:
    """It was dated a day before its results."""
    told = content["certificate"]
    done = [line["at"] for block in told["controls"] for line in block["lines"]]
    assert max(done) <= told["issued_at"]
    assert told["received_at"] <= min(done)


def test_its_content_has_the_form_of_today(content: dict[str, Any]) -> None:
    today = json.loads(to_json(full()))
    assert content["version"] == VERSION == today["version"]
    assert content["statements"] == today["statements"]
    assert content["certificate"].keys() | {"log"} == today["certificate"].keys() | {"log"}
    for part in ("standing", "summary", "controls", "dials", "visits"):
        mine, wanted = content["certificate"][part], today["certificate"][part]
        one, other = (value[0] if isinstance(value, list) else value for value in (mine, wanted))
        assert one.keys() == other.keys(), part
    line, wanted = (told["certificate"]["controls"][0]["lines"][0] for told in (content, today))
    assert line.keys() == wanted.keys()


def test_its_pages_have_the_words_of_today(found: Unpacked) -> None:
    first = " ".join(found.pages[0].split())
    for text in (words.DONE_TO_IT, words.NOT_TESTED_AND_UNSEEN, words.NO_TEST_SEES, words.HOW_TO_CHECK):
        assert text in first
    assert words.SCOPE in " ".join(found.pages[-1].split())
