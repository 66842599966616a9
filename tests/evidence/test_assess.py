"""Measuring recordings again: marks, tries, sheets, and what is written down."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from pathlib import Path

import pytest

from station.capture.file import save_capture
from station.capture.types import Mark
from station.checks.types import Outcome
from station.errors import CaptureError, SheetError, StationError
from station.evidence import fitting
from station.evidence.assess import assess_capture, assess_file, assess_files, takes_of
from station.evidence.fitting import NO_LAYOUT, find_sheet, layout_of
from station.evidence.tries import tries_of
from station.evidence.written import to_json_line, to_text
from station.sheets.model import Ask, Control, ExplicitField, Place, Sheet
from station.sheets.write import save_sheet
from tests.checks.made_captures import BEATS_MS, MS, SHEET, Script, button, closed, presses, whole_unit

THREE = [400, 900, 1400]


@pytest.fixture(autouse=True)
def _only_sheets_beside_the_capture(tmp_path_factory, monkeypatch):
    """The sheets that ship must not decide these tests."""
    empty = tmp_path_factory.mktemp("empty")
    monkeypatch.setattr(fitting, "RESOURCES", empty)
    monkeypatch.setattr(fitting, "SAMPLE_UNITS", empty)


def _pressed(script: Script, starts=THREE, number=1, length=2500, **more) -> Script:
    return script.add("contact", f"key_{number}", {button(number): presses(starts, length, 120)}, **more)


def _by_key(done):
    return {(c.check, c.control): c for c in done.checks}


@pytest.fixture(scope="module")
def sound():
    return whole_unit().capture()


def test_a_sound_unit_passes_everything_and_nothing_is_found(sound):
    done = assess_capture(sound, SHEET)
    assert [(c.check, c.control) for c in done.checks if c.assessment.outcome is not Outcome.PASS] == []
    assert done.outcome is Outcome.PASS
    assert [f for c in done.checks for f in c.assessment.findings] == []


def test_a_whole_unit_covers_every_check_that_measures(sound):
    done = assess_capture(sound, SHEET)
    assert {c.check for c in done.checks} == {
        "contact", "light", "hold", "rest", "letgo", "travel", "rim", "sweep", "trigger", "hat", "link",
    }  # fmt: skip
    assert len(done.checks) == 59


# --- tries -------------------------------------------------------------------------------------------------


def _marks(*rows):
    return [Mark(t * MS, event, check, control) for t, event, check, control in rows]


def test_tries_are_begun_and_ended_for_each_check_and_control():
    found = tries_of(
        _marks(
            (0, "begin", "light", "a"), (0, "begin", "light", "b"), (1, "beat", "light", "a"),
            (2, "beat", "light", "b"), (3, "end", "light", "a"), (9, "begin", "light", "a"), (12, "end", "light", "b"),
        )
    )  # fmt: skip
    shown = [(t.control, t.begin_ns, t.end_ns, t.beats_ns) for t in found]
    assert shown == [
        ("a", 0, 3 * MS, [1 * MS]),
        ("b", 0, 12 * MS, [2 * MS]),
        ("a", 9 * MS, None, []),
    ]


def test_void_withdraws_the_beat_before_it():
    found = tries_of(
        _marks(
            (0, "begin", "light", "a"), (1, "beat", "light", "a"), (2, "beat", "light", "a"), (3, "void", "light", "a"),
            (4, "beat", "light", "a"), (5, "end", "light", "a"),
        )
    )  # fmt: skip
    assert [b // MS for b in found[0].beats_ns] == [1, 4]


@pytest.mark.parametrize("event", ["beat", "void", "end"])
def test_a_mark_without_a_begin_belongs_to_nothing(event):
    assert tries_of(_marks((0, event, "light", "a"))) == ()


def test_a_void_without_a_beat_withdraws_nothing():
    found = tries_of(_marks((0, "begin", "light", "a"), (1, "void", "light", "a"), (2, "end", "light", "a")))
    assert found[0].beats_ns == []


def test_marks_out_of_order_are_put_in_order():
    found = tries_of(_marks((9, "end", "contact", "a"), (1, "begin", "contact", "a")))
    assert [(t.begin_ns // MS, t.end_ns // MS) for t in found] == [(1, 9)]


def test_begun_again_without_an_end_leaves_the_first_try_open():
    found = tries_of(_marks((0, "begin", "contact", "a"), (5, "begin", "contact", "a"), (9, "end", "contact", "a")))
    assert [t.end_ns for t in found] == [None, 9 * MS]


def test_the_last_try_that_counted_is_taken():
    script = _pressed(_pressed(Script(), []), THREE)
    found = _by_key(assess_capture(script.capture(), SHEET))["contact", "key_1"]
    assert (found.assessment.outcome, found.tries) == (Outcome.PASS, 2)
    script = _pressed(_pressed(Script(), THREE), [])
    assert _by_key(assess_capture(script.capture(), SHEET))["contact", "key_1"].assessment.outcome is Outcome.FAIL


def test_a_sloppy_try_after_a_good_one_does_not_undo_it():
    script = _pressed(_pressed(Script(), THREE), [400])
    found = _by_key(assess_capture(script.capture(), SHEET))["contact", "key_1"]
    assert (found.assessment.outcome, found.tries) == (Outcome.PASS, 2)


def test_only_sloppy_tries_are_not_done():
    done = assess_capture(_pressed(_pressed(Script(), [400]), [400, 900]).capture(), SHEET)
    assert (done.outcome, done.checks[0].assessment.again) == (Outcome.NOT_DONE, "again, please: one press to go")


def test_begun_and_never_ended_is_interrupted_and_keeps_what_came():
    done = assess_capture(_pressed(Script(), [400, 900], ended=False).capture(), SHEET)
    assert done.outcome is Outcome.INTERRUPTED
    assert {r.name: r.value for r in done.checks[0].assessment.readings}["registered"] == 2


def test_no_marks_bracket_no_check():
    done = assess_capture(replace(_pressed(Script()).capture(), marks=()), SHEET)
    assert (done.checks, done.outcome) == ((), Outcome.NOT_DONE)
    assert to_text(Path("x.npz"), done) == "x.npz: not done (its marks bracket no check)"


def test_the_worst_outcome_of_the_checks_is_that_of_the_unit():
    script = _pressed(_pressed(Script(), THREE, 1), [], 2)
    done = assess_capture(script.capture(), SHEET)
    assert [c.assessment.outcome for c in done.checks] == [Outcome.PASS, Outcome.FAIL]
    assert done.outcome is Outcome.FAIL


def test_a_withdrawn_beat_does_not_count_and_one_that_neither_registered_is_told():
    length = BEATS_MS[-1] + 900
    works = [b for i, b in enumerate(BEATS_MS) if i not in (5, 9)]
    seen = [b for i, b in enumerate(BEATS_MS) if i != 9]
    script = Script().add(
        "light", "key_1", {button(1): presses(works, length), button(2): presses(seen, length)},
        beats_ms=BEATS_MS, witness="key_2",
    )  # fmt: skip
    capture = script.capture()
    at = next(i for i, m in enumerate(capture.marks) if m.time_ns == int(BEATS_MS[5] * MS))
    withdrawn = Mark(capture.marks[at].time_ns + 100 * MS, "void", "light", "key_1")
    done = assess_capture(replace(capture, marks=(*capture.marks, withdrawn)), SHEET)
    readings = {r.name: r.value for r in done.checks[0].assessment.readings}
    assert (readings["beats"], readings["missed"], readings["neither"]) == (30, 0, 1)


def test_what_a_person_answers_is_not_in_a_recording():
    sheet = replace(SHEET, asks=(Ask("rumble", "Both motors turn"),))
    script = _pressed(Script()).add("rumble", "", {button(1): closed([], 500)})
    assert [c.check for c in assess_capture(script.capture(), sheet).checks] == ["contact"]


def test_takes_of_gives_every_ended_try():
    script = _pressed(_pressed(Script(), [400]), THREE)
    script = _pressed(script, THREE, 2, ended=False)
    found = takes_of(script.capture(), SHEET)
    assert [key for key, _ in found] == [("contact", "key_1")] * 2
    assert found[1][1].begin_ns == 2500 * MS


MARKS_THAT_DO_NOT_FIT = {
    "a check that is not known": ("wobble", "key_1", 'a check "wobble" that is not known here; update the program'),
    "a control that the sheet lacks": ("contact", "key_99", 'a control "key_99" that the sheet "Plover T2" does not'),
    "a check that the control has not": ("rim", "key_1", 'the check "rim" for key_1, which has none'),
    "a check of a control for the whole unit": ("rim", "", 'the check "rim" for the whole unit'),
}


@pytest.mark.parametrize(("check", "control", "words"), MARKS_THAT_DO_NOT_FIT.values(), ids=MARKS_THAT_DO_NOT_FIT)
def test_marks_that_do_not_fit_the_sheet_get_one_clear_sentence(check, control, words):
    capture = _pressed(Script()).capture()
    with pytest.raises(CaptureError) as caught:
        assess_capture(replace(capture, marks=tuple(_marks((0, "begin", check, control)))), SHEET)
    assert words in str(caught.value)


# --- files and sheets --------------------------------------------------------------------------------------


def _saved(tmp_path: Path, script: Script, name: str = "unit.npz", **meta) -> Path:
    path = tmp_path / name
    save_capture(path, script.capture(**meta))
    return path


def test_the_sheet_given_comes_first(tmp_path):
    own = replace(SHEET, name="Mine", match=())
    save_sheet(tmp_path / "elsewhere.toml", own)
    (tmp_path / "captures").mkdir()
    path = _saved(tmp_path / "captures", _pressed(Script()))
    assert assess_file(path, tmp_path / "elsewhere.toml").sheet.name == "Mine"


def test_the_sheet_that_the_recording_names_comes_before_one_that_matches(tmp_path):
    save_sheet(tmp_path / "a.toml", SHEET)
    save_sheet(tmp_path / "b.toml", replace(SHEET, name="Plover T2 early", match=()))
    assert assess_file(_saved(tmp_path, _pressed(Script()), sheet="Plover T2 early")).sheet.name == "Plover T2 early"
    assert assess_file(_saved(tmp_path, _pressed(Script()), sheet="Gone")).sheet.name == "Plover T2"
    assert assess_file(_saved(tmp_path, _pressed(Script()))).sheet.name == "Plover T2"


def test_a_broken_sheet_beside_the_recording_hides_no_other(tmp_path):
    (tmp_path / "a.toml").write_text("format = ", encoding="utf-8")
    save_sheet(tmp_path / "b.toml", SHEET)
    assert assess_file(_saved(tmp_path, _pressed(Script()))).sheet.name == "Plover T2"


def test_without_a_sheet_one_is_drawn_up_and_the_controls_bear_their_usage_names(tmp_path):
    script = Script().add("contact", "button_1", {button(1): presses(THREE, 2500, 120)})
    done = assess_file(_saved(tmp_path, script))
    assert done.sheet.drawn_up
    assert done.outcome is Outcome.PASS


def test_a_sheet_that_does_not_fit_the_device_says_so(tmp_path):
    odd = Sheet("Odd", controls=(Control("key_1", "button", "Key 1", at=Place(usage=button(40))),))
    save_sheet(tmp_path / "odd.toml", odd)
    with pytest.raises(StationError, match=r"unit\.npz: .*Odd|unit\.npz: .*key_1"):
        assess_file(_saved(tmp_path, _pressed(Script())), tmp_path / "odd.toml")


def _explicit() -> Sheet:
    field = ExplicitField(report=1, bit=8 + 64 + 16 + 4, bits=1)
    return Sheet("By hand", controls=(Control("key_1", "button", "Key 1", at=Place(field=field)),))


@pytest.mark.parametrize("descriptor", [b"", b"\xff\xff\xff"], ids=["no descriptor", "a descriptor that lies"])
def test_without_a_readable_descriptor_a_sheet_with_explicit_fields_is_needed_and_enough(tmp_path, descriptor):
    capture = replace(_pressed(Script()).capture(), descriptor=descriptor)
    assert layout_of(capture) == NO_LAYOUT
    with pytest.raises(CaptureError, match=r"and no sheet fits this device; give one with explicit fields \(--sheet\)"):
        find_sheet(capture, tmp_path, layout_of(capture))
    path = tmp_path / "bare.npz"
    save_capture(path, capture)
    save_sheet(tmp_path / "by_hand.toml", _explicit())
    done = assess_file(path, tmp_path / "by_hand.toml")
    assert done.outcome is Outcome.PASS


def test_one_recording_that_cannot_be_measured_stops_no_other(tmp_path):
    save_sheet(tmp_path / "sheet.toml", SHEET)
    good = _saved(tmp_path, _pressed(Script()), "good.npz")
    bad = tmp_path / "bad.npz"
    bad.write_bytes(b"not a recording")
    found = dict(assess_files([bad, good, tmp_path / "none.npz"]))
    assert isinstance(found[bad], CaptureError)
    assert found[good].outcome is Outcome.PASS
    for path in (bad, tmp_path / "none.npz"):
        assert str(found[path]).startswith(path.name)
        assert "\n" not in str(found[path])


def test_a_wrong_limit_in_the_sheet_is_told(tmp_path):
    sheet = replace(SHEET, limits={"rest": {"nonsense": (1.0, 2.0)}})
    with pytest.raises(SheetError, match=r"limits\.rest\.nonsense"):
        assess_capture(_pressed(Script()).capture(), sheet)


# --- written down ------------------------------------------------------------------------------------------


def test_the_json_line_has_exactly_the_agreed_members(tmp_path):
    save_sheet(tmp_path / "sheet.toml", SHEET)
    script = _pressed(_pressed(Script(), THREE, 1), [], 2)
    path = _saved(tmp_path, script)
    line = to_json_line(path, assess_file(path))
    assert "\n" not in line
    told = json.loads(line)
    assert list(told) == ["capture", "sha256", "outcome", "checks"]
    assert told["capture"] == str(path)
    assert told["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
    assert told["outcome"] == "fail"
    first, second = told["checks"]
    assert list(first) == ["check", "control", "outcome", "readings", "findings"]
    assert (first["check"], first["control"], first["outcome"], first["findings"]) == ("contact", "key_1", "pass", [])
    assert first["readings"][0] == {
        "name": "registered", "value": 3.0, "unit": "", "uncertainty": 0.0, "limit": 3.0, "rule": ">=",
    }  # fmt: skip
    assert second["findings"] == [
        {
            "code": "never",
            "text": "key 2: never closes",
            "params": {"who": "key 2"},
            "axis": None,
            "direction": None,
        }
    ]


def test_the_json_line_of_a_whole_unit_holds_numbers_or_null_only(sound):
    told = json.loads(to_json_line(Path("x.npz"), assess_capture(sound, SHEET)), parse_constant=pytest.fail)
    readings = [r for c in told["checks"] for r in c["readings"]]
    assert len(readings) > 250
    for reading in readings:
        assert set(reading) == {"name", "value", "unit", "uncertainty", "limit", "rule"}
        assert reading["rule"] in ("<=", ">=")
        assert reading["value"] is None or isinstance(reading["value"], float)


def test_the_text_names_what_is_wrong_and_nothing_else():
    script = _pressed(_pressed(_pressed(Script(), THREE, 1), [], 2), [400], 3)
    told = to_text(Path("shelf/unit.npz"), assess_capture(script.capture(), SHEET))
    assert told.splitlines() == [
        "unit.npz: fail (1 pass, 1 fail, 1 not done)",
        "  key 2, contact: fail",
        "    key 2: never closes",
        "    registered 0, should be at least 3",
        "    released 0, should be at least 3",
        "  key 3, contact: not done (again, please: two presses to go)",
        "    registered 1, should be at least 3",
        "    released 1, should be at least 3",
    ]
