"""The fault guide: what ships is whole and marked, and what a shop breaks is named."""

from __future__ import annotations

import copy
import os
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from station.capture.toml import MOST_BYTES
from station.checks.registry import described
from station.diagnosis.evidence import codes_of
from station.diagnosis.guide import DEFAULT_PATH, Guide, Method, _Reader, guide_for, load_guide
from station.diagnosis.hazards import OPENED, STEPS, Hazard
from station.errors import InputError
from station.records.types import TREATMENT_KINDS

GUIDE = load_guide()
TEXT = DEFAULT_PATH.read_text("utf-8")


def test_every_finding_of_the_checks_has_a_suspect():
    known = {code for role in GUIDE.suspects for code in role.shows}
    for check, about in described().items():
        assert set(codes_of(check)) <= known or about.first_look  # a glance suspects nothing yet


def test_every_suspect_can_be_treated_and_every_kind_of_treatment_is_in_the_guide():
    treatable = {role for m in GUIDE.treatments for role in m.cures}
    assert {r.role for r in GUIDE.suspects} <= treatable
    assert {m.kind for m in GUIDE.treatments} == set(TREATMENT_KINDS)


def test_every_entry_says_where_it_comes_from():
    for entry in (*GUIDE.suspects, *GUIDE.treatments):
        assert entry.mark == "common practice, no source"


WITH_HEAT = (
    "replace sensor", "replace module", "replace board", "replace contact pad", "replace motor", "replace cable",
    "resolder", "swap with donor part",
)  # fmt: skip
"""kinds where, as often as not, something is desoldered"""


@pytest.mark.parametrize("method", GUIDE.treatments, ids=lambda m: m.kind)
def test_every_treatment_that_can_hurt_has_its_hazards(method: Method):
    named = set(method.hazards)
    assert named or method.kind == "calibrate"
    assert not method.needs_open or {"cell", "static", "sharp"} <= named
    assert ("solvent" in named) == ("clean" in method.kind)
    assert ("iron" in named) == (method.kind in WITH_HEAT)
    assert [hazard.name for hazard in GUIDE.hazards_of(method.kind)] == list(method.hazards)


@pytest.mark.parametrize(
    ("step", "hazards"),
    [
        pytest.param("harvest", {"cell", "static", "sharp", "iron"}, id="harvest: the iron too"),
        pytest.param("look", {"cell", "sharp", "mains"}, id="look"),
        pytest.param("charge", {"cell", "mains"}, id="charge"),
        pytest.param("alone", {"cell", "mains"}, id="left alone"),
    ],
)
def test_every_step_that_can_hurt_has_its_hazards(step: str, hazards: set[str]):
    assert {hazard.name for hazard in GUIDE.hazards_of(step)} == hazards


def test_the_steps_of_the_guide_are_those_of_the_bench():
    assert set(GUIDE.steps) == set(STEPS)


@pytest.mark.parametrize("hazard", GUIDE.hazards.values(), ids=lambda h: h.name)
def test_each_hazard_says_when_to_stop_and_what_to_do_before_and_during(hazard: Hazard):
    for text in (hazard.stop, hazard.before, hazard.during):
        assert text.endswith(".")
        for match in re.finditer(r"open a (cell|mains)", text):
            assert "Never " in text[: match.start()]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        pytest.param("solvent", ("flame", "eye", "skin"), id="solvent"),
        pytest.param("iron", ("burn", "fume", "eyes", "trained"), id="iron and hot air"),
        pytest.param("sharp", ("broken plastic", "eyes", "hand"), id="broken plastic"),
        pytest.param("cell", ("swollen", "leaking", "hot", "smelling", "local rules", "complete pack"), id="cell"),
        pytest.param("mains", ("adapter", "licensed practice"), id="mains"),
    ],
)
def test_what_a_hazard_must_not_leave_out(name: str, words: tuple[str, ...]):
    text = GUIDE.hazards[name].text().lower()
    assert [word for word in words if word not in text] == []


def test_only_one_hazard_speaks_for_cells():
    others = [h for h in GUIDE.hazards.values() if h.name != "cell"]
    assert not any(re.search("swollen|leaking|pierced", h.text().lower()) for h in others)


def test_a_shop_adds_hazards_and_kinds_of_its_own(tmp_path: Path):
    own = """
[[treatment]]
kind = "ultrasonic bath"
own = true
title = "ultrasonic bath"
minutes = 7
cost_minor = 15
needs_open = true
cures = { contact = [2, 3] }
hazards = ["cell", "static", "sharp", "noise"]

[[hazard]]
name = "noise"
sign = "noise"
before = "Ears covered."

[[hazard]]
name = "mains"
sign = "mains"
before = "Ask the electrician of this shop."
"""
    path = tmp_path / "guide.toml"
    path.write_text(TEXT + own, "utf-8")
    guide = load_guide(path)
    assert [h.name for h in guide.hazards_of("ultrasonic bath")] == ["cell", "static", "sharp", "noise"]
    mains = guide.hazards_of("charge")[1]
    assert mains.before == "Ask the electrician of this shop."
    assert (mains.stop, mains.during) == (GUIDE.hazards["mains"].stop, GUIDE.hazards["mains"].during)


def test_a_guide_from_before_hazards_is_read_and_its_cautions_stand_where_they_stood():
    guide = load_guide(Path(__file__).parent / "guide_before.toml")
    named = [hazard.name for hazard in guide.hazards_of("replace board")]
    assert named == ["cell", "static", "sharp", "iron", "open"]
    assert "wrist strap on" in guide.hazards["open"].before
    assert guide.hazards["sharp"].before.startswith("Blades and prying tools slip")
    assert guide.hazards["sharp"].stop == GUIDE.hazards["sharp"].stop
    assert {m.kind for m in guide.treatments} == set(TREATMENT_KINDS)
    assert guide.method("replace battery").cures == {}  # type: ignore[union-attr]
    assert guide.now_called("other") == "other"


def test_a_battery_under_its_older_kind_is_learned_from_as_before():
    assert GUIDE.now_called("other") == "replace battery"
    assert [GUIDE.now_called(kind) for kind in ("adjust", "calibrate", "ultrasonic bath")] == [
        "adjust",
        "calibrate",
        "ultrasonic bath",
    ]


def test_a_model_can_have_its_own_values(tmp_path: Path):
    path = tmp_path / "guide.toml"
    path.write_text(
        TEXT + '\n[value_of."Heron 4"]\nready_minor = 9000\nas_is_minor = 2000\nparts_minor = 1500\n', "utf-8"
    )
    guide = load_guide(path)
    assert guide.values_for("Heron 4").ready_minor == 9000
    assert guide.values_for("Plover T2") == GUIDE.values


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        pytest.param("version = 1", "version = 2", "at its head", id="version"),
        pytest.param("hour_minor = 1800", "hour_minor = -1", "hour_minor", id="negative wage"),
        pytest.param("rate = 0.12", "rate = 1.2", "suspect 1 (sensor), rate", id="a rate above 1"),
        pytest.param("noise = 0.60", 'noise = "often"', "shows noise", id="a word for a share"),
        pytest.param('kind = "adjust"', 'kind = "pray"', "treatment 4 (pray)", id="unknown kind"),
        pytest.param("cures = { sensor = [3, 4] }", "cures = { sensor = [5, 4] }", "cures sensor", id="5 of 4"),
        pytest.param("cures = { sensor = [3, 4] }", "cures = { sensr = [3, 4] }", "“sensr”", id="unknown suspect"),
        pytest.param(
            'hazards = ["cell", "solvent"]', 'hazards = ["beware"]', "no hazard “beware”", id="unknown hazard"
        ),
        pytest.param('hazards = ["cell", "static", "sharp"]', "hazards = []", "needs the hazards", id="opened without"),
        pytest.param("harvest = [", "havest = [", "a step is one of harvest", id="unknown step"),
        pytest.param('sign = "static"', 'sign = ""', "hazard static", id="a hazard without a sign"),
        pytest.param('of = ["stick"]', 'of = ["wheel"]', "`of` may name", id="unknown kind of control"),
        pytest.param("[work]", "[work", "not valid TOML", id="no TOML"),
        pytest.param('role = "spring"', 'role = "sensor"', "same role", id="a role twice"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(tmp_path: Path, old: str, new: str, says: str):
    path = tmp_path / "guide.toml"
    assert old in TEXT
    path.write_text(TEXT.replace(old, new, 1), "utf-8")
    with pytest.raises(InputError, match=re.escape(says)) as caught:
        load_guide(path)
    assert "mend that" in str(caught.value)


def test_the_shops_own_guide_in_the_records_folder_takes_the_place_of_the_one_that_ships(tmp_path: Path):
    assert guide_for(tmp_path) == GUIDE
    (tmp_path / "fault_guide.toml").write_text(TEXT.replace("hour_minor = 1800", "hour_minor = 2400"), "utf-8")
    assert guide_for(tmp_path).hour_minor == 2400


def test_a_guide_that_is_not_there_is_said(tmp_path: Path):
    with pytest.raises(InputError, match="put another in its place"):
        load_guide(tmp_path / "none.toml")


# --- what a shop breaks ------------------------------------------------------------------------------------------

WRONG: tuple[Any, ...] = (
    5, -5, 10**30, 0.5, float("nan"), float("inf"), True, "", " ", "x", "x" * 3000, [], [5], [[1]], [{}], ["x"], {},
    {"a": 5}, {"a": [1]},
)  # fmt: skip
"""of every sort that a guide can hold"""
RARE = """
[value_of."Heron 4"]
ready_minor = 9000
as_is_minor = 2000
parts_minor = 1500

[cautions]
open = "Off and unplugged."

[[treatment]]
kind = "ultrasonic bath"
own = true
title = "ultrasonic bath"
minutes = 7
cost_minor = 15
cures = {}
cautions = ["open"]
formerly = ["bath"]
"""


def places(value: Any, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Where something stands in a document; of the entries of a list the first one and the last."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys if isinstance(value, dict) else sorted({*keys[:1], *keys[-1:]}):
        yield (*at, key)
        yield from places(value[key], (*at, key))


def read_or_said(path: Path, document: dict[str, Any]) -> tuple[Guide | None, str]:
    """The guide, or the sentence that refuses it."""
    try:
        return _Reader(path, GUIDE).guide(document), ""
    except InputError as refused:
        return None, str(refused)


@pytest.mark.parametrize("wrong", WRONG, ids=lambda w: str(w)[:12])
def test_a_value_of_another_sort_is_one_sentence_or_a_guide_that_lacks_no_caution(wrong: Any, tmp_path: Path) -> None:
    whole = tomllib.loads(TEXT + RARE)
    for place in places(whole):
        document = copy.deepcopy(whole)
        inner = document
        for key in place[:-1]:
            inner = inner[key]
        inner[place[-1]] = copy.deepcopy(wrong)
        guide, said = read_or_said(tmp_path / "guide.toml", document)
        assert guide is not None or said.endswith("mend that entry."), place
        assert len(said.splitlines()) <= 1, place
        assert len(said) < 1000, place
        if guide is None:
            continue
        for what in (*TREATMENT_KINDS, *STEPS):
            there = {hazard.name: hazard for hazard in guide.hazards_of(what)}
            for ships in GUIDE.hazards_of(what):
                assert ships.stop in there[ships.name].stop, (place, what)
                assert there[ships.name].before.strip()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        pytest.param(b"x = " + b"[" * 5000 + b"]" * 5000, "brackets", id="brackets without end"),
        pytest.param(b"x = " + b"9" * 5000, "not valid TOML", id="a number without end"),
        pytest.param(b"#" * (MOST_BYTES + 1), "larger than", id="too large"),
        pytest.param("# é".encode("latin-1"), "cannot be read", id="no UTF-8"),
        pytest.param(TEXT.encode() + b"\n[steps]\n", "not valid TOML", id="a table twice"),
        pytest.param(b"a." * 20_000 + b"x = 1", "more than", id="dots without end"),
    ],
)
def test_a_file_that_is_no_guide_is_one_sentence(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "guide.toml"
    path.write_bytes(data)
    with pytest.raises(InputError, match=says):
        load_guide(path)


def test_the_mark_that_some_editors_begin_a_file_with_is_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "guide.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    assert load_guide(path) == GUIDE


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in the file system")
def test_a_pipe_is_not_waited_on(tmp_path: Path) -> None:
    path = tmp_path / "guide.toml"
    os.mkfifo(path)
    with pytest.raises(InputError, match="cannot be read"):
        load_guide(path)


# --- a shop adds and sharpens ------------------------------------------------------------------------------------

OWN = '\n[[treatment]]\nkind = "{kind}"\nown = true\ntitle = "u"\nminutes = 1\ncost_minor = 1\ncures = {{}}\n{more}\n'


@pytest.mark.parametrize(
    ("more", "named"),
    [
        pytest.param("", OPENED, id="none named"),
        pytest.param("needs_open = false\nhazards = []", OPENED, id="none wanted"),
        pytest.param('hazards = ["solvent"]', (*OPENED, "solvent"), id="one besides"),
        pytest.param("needs_open = true", OPENED, id="opened"),
    ],
)
def test_a_kind_of_the_shops_own_has_the_hazards_of_an_opened_housing(
    tmp_path: Path, more: str, named: tuple[str, ...]
) -> None:
    path = tmp_path / "guide.toml"
    path.write_text(TEXT + OWN.format(kind="ultrasonic bath", more=more), "utf-8")
    assert tuple(hazard.name for hazard in load_guide(path).hazards_of("ultrasonic bath")) == named


def test_a_kind_that_is_called_as_a_step_takes_none_of_its_hazards(tmp_path: Path) -> None:
    path = tmp_path / "guide.toml"
    path.write_text(TEXT + OWN.format(kind="charge", more=""), "utf-8")
    assert [hazard.name for hazard in load_guide(path).hazards_of("charge")] == ["cell", "mains", "static", "sharp"]


@pytest.mark.parametrize(
    ("said", "stop"),
    [
        pytest.param("", "{ships}", id="nothing of it"),
        pytest.param('stop = " "', "{ships}", id="a blank"),
        pytest.param('stop = "Call me."', "{ships} Call me.", id="more"),
        pytest.param('stop = "{ships} Call me."', "{ships} Call me.", id="the whole and more"),
    ],
)
def test_no_rule_to_stop_by_is_lost(tmp_path: Path, said: str, stop: str) -> None:
    ships = GUIDE.hazards["cell"].stop
    own = f'\n[[hazard]]\nname = "cell"\nbefore = "See the chart on the wall."\n{said.format(ships=ships)}\n'
    path = tmp_path / "guide.toml"
    path.write_text(TEXT.replace("[[hazard]]", own + "\n[[hazard]]", 1), "utf-8")
    alone = tmp_path / "alone.toml"
    alone.write_text(re.sub(r"(?ms)^\[\[hazard\]\].*?(?=^\[|\Z)", "", TEXT) + own, "utf-8")
    assert load_guide(alone).hazards["cell"].stop == stop.format(ships=ships)
    assert load_guide(alone).hazards["cell"].before == "See the chart on the wall."
    assert load_guide(path).hazards["cell"].stop.startswith(ships)


def test_no_step_and_no_treatment_loses_a_hazard(tmp_path: Path) -> None:
    path = tmp_path / "guide.toml"
    less = re.sub(r"(?m)^(harvest|look|charge|alone) = \[.*\]$", r"\1 = []", TEXT)
    less = less.replace('hazards = ["cell", "solvent"]', "hazards = []").replace(', "iron"]', "]")
    assert less.count("= []") >= len(STEPS)
    path.write_text(less, "utf-8")
    guide = load_guide(path)
    for what in (*STEPS, *TREATMENT_KINDS):
        assert guide.hazards_of(what) == GUIDE.hazards_of(what)
