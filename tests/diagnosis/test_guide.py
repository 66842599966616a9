"""The fault guide: what ships is whole and marked, and what a shop breaks is named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from station.checks.registry import described
from station.diagnosis.evidence import codes_of
from station.diagnosis.guide import DEFAULT_PATH, guide_for, load_guide
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


def test_cautions_stand_by_every_step_that_needs_one():
    for method in GUIDE.treatments:
        caution = GUIDE.caution(method)
        assert caution
        if method.needs_open:
            assert "Never open a cell or a mains adapter" in caution
        if "clean" in method.kind:
            assert "vapour" in caution.lower()
        if method.kind in ("replace sensor", "replace module"):
            assert "fume" in caution
    battery = next(m for m in GUIDE.treatments if "battery" in m.cures)
    assert "never its cells" in GUIDE.caution(battery)


def test_cautions_defer_to_local_rules_and_never_tell_anyone_to_open_a_cell():
    for name, text in GUIDE.cautions.items():
        assert text.endswith("."), name
        for match in re.finditer(r"open a (cell|mains)", text):
            assert "Never " in text[: match.start() + 5], name
    for name in ("open", "outside", "solder", "cell"):
        assert "local rules" in GUIDE.cautions[name]


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
        pytest.param('cautions = ["outside"]', 'cautions = ["beware"]', "no caution “beware”", id="unknown caution"),
        pytest.param('cautions = ["open"]', "cautions = []", 'needs the caution "open"', id="opened without a caution"),
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
    with pytest.raises(InputError, match="put the one that ships"):
        load_guide(tmp_path / "none.toml")
