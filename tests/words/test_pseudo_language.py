"""Every text that can be read in the window comes from the catalogue or is data: seen in a language of brackets."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from tests.words.pseudo import CLOSE, OPEN, bracketed

ROOT = Path(__file__).resolve().parents[2]
LETTER = r"[^\W\d_]"
HASH = r"\b(?:[0-9a-f]{4,8} ){3,}[0-9a-f]{1,8}\b"
"""a fingerprint or a digest, as it is printed"""
BREAK_HERE = "\N{ZERO WIDTH SPACE}"
"""where a path may go on on the next line"""
CODE = r"\w*\d\w*"
"""numbers, dates, times, the numbers of certificates"""


def outside(text: str) -> str:
    """What stands outside of all brackets. A text that was cut short has lost its closing ones."""
    kept, depth = [], 0
    for sign in text:
        depth += (sign == OPEN) - (sign == CLOSE and depth > 0)
        kept.append(" " if depth or sign == CLOSE else sign)
    return "".join(kept)


def unaccounted(text: str, data: tuple[str, ...]) -> str:
    """The letters of a text that neither the catalogue nor the data account for; a cut text may end within data."""
    rest = re.sub(HASH, " ", outside(text.replace(BREAK_HERE, "")))
    for known in sorted({*data, *(one.upper() for one in data)}, key=len, reverse=True):
        rest = re.sub(rf"(?<!{LETTER}){re.escape(known)}(?!{LETTER})", " ", rest)
    rest = re.sub(CODE, " ", rest)
    last = re.search(rf"({LETTER}.*)…$", rest)
    if last and any(last[1].strip().casefold() in known.casefold() for known in data):
        rest = rest[: last.start()]
    return rest.strip(" .") if re.search(LETTER, rest) else ""


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("⟦Save⟧", ""),
        ("⟦{name}: ⟦gone⟧⟧ SM-07-06", ""),
        ("Save", "Save"),
        ("Saved: ⟦Sheet⟧", "Saved:"),
        ("⟦A long sente…", ""),
        ("12.5 ms", ""),
        ("12.5 msec", "msec"),
        ("SM-07-06  ·  SM-0…", ""),
        ("SM-07-06  ·  Save…", "·  Save…"),
        ("12 · 3", ""),
        ("4a14 a5de face a3c3 0c99", ""),
        ("Signed with key 4a14 a5de 1b85 a3c3 0c99", "Signed with key"),
        ("06-08-bbf34e", ""),
        ("SM-\N{ZERO WIDTH SPACE}07-\N{ZERO WIDTH SPACE}06", ""),
        ("Save\N{ZERO WIDTH SPACE}d", "Saved"),
    ],
)
def test_what_is_unaccounted_for(text: str, left: str) -> None:
    assert unaccounted(text, ("SM-07-06", "ms")) == left


def test_each_text_with_letters_gets_brackets_and_keeps_its_fields() -> None:
    given = {"a": "Save {name}", "b": ("{n}", "steps"), "c": " · "}
    assert bracketed(given) == {"a": "⟦Save {name}⟧", "b": ("{n}", "⟦steps⟧"), "c": " · "}


@cache
def walked(folder: str) -> dict[str, dict[str, str]]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.words.pseudo", folder], cwd=ROOT, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr[-4000:]
    found = json.loads(done.stdout)
    return {"texts": found["texts"], "data": found["data"]}


def test_every_text_in_the_window_is_of_the_catalogue_or_data(tmp_path: Path) -> None:
    found = walked(str(tmp_path / "records"))
    texts, data = found["texts"], tuple(found["data"])
    strange = {text: f"{left!r} in {texts[text]}" for text in texts if (left := unaccounted(text, data))}
    assert strange == {}
    assert sum(OPEN in text for text in texts) > 500, "the walk has seen what there is"
