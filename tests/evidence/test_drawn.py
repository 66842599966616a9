"""What is drawn of a result is what its reports hold: values, contacts, places of findings, what was used."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from station import SAMPLE_UNITS
from station.capture.file import read_capture, write_capture
from station.capture.types import Capture
from station.checks.registry import CHECKS, described
from station.checks.types import Assessment, Finding, Outcome, Reading
from station.errors import CaptureError
from station.evidence.assess import assess_capture, assess_file
from station.evidence.draw import evidence_of
from station.evidence.drawing import Evidence
from station.evidence.kept import kept_of, take_from
from station.evidence.told import legend
from station.hid.types import ReportBlock
from station.judgement.limits import in_force
from station.measure.placement import middle
from station.records import files
from station.records.types import Result
from station.sheets.model import Control, Place, Sheet
from station.words import evidence_room as words
from tests.checks import axis_moves
from tests.checks.made_captures import BEATS_MS, MS, SHEET, Script, X, Y, button, presses, stick_moves, whole_unit

STICK = "left_stick"


def _result(check: str, control: str, done: Assessment, sha256: str = "") -> Result:
    return Result("r", "v", check, control, 1, "2026-11-28T10:00:00Z", done, sha256)


@pytest.fixture(scope="module")
def sound():
    return whole_unit().capture()


@pytest.fixture(scope="module")
def drawn(sound) -> dict[tuple[str, str], Evidence]:
    """Everything of a whole unit that was measured, as it is drawn."""
    done = assess_capture(sound, SHEET)
    return {
        (c.check, c.control): evidence_of(
            take_from(sound, _result(c.check, c.control, c.assessment), SHEET), in_force(SHEET)
        )
        for c in done.checks
    }


def _one(check: str, control: str, moves, **more) -> tuple[Evidence, Assessment]:
    """The evidence of one made-up try, measured by its own check."""
    capture = Script().add(check, control, moves, **more).capture()
    (done,) = assess_capture(capture, SHEET).checks
    kept = take_from(capture, _result(check, control, done.assessment), SHEET)
    return evidence_of(kept, in_force(SHEET)), done.assessment


# --- every kind of check ------------------------------------------------------------------------------------


def test_each_check_that_keeps_reports_has_a_picture(drawn):
    assert drawn
    assert all(e.pictures for e in drawn.values())


@pytest.mark.parametrize(
    ("check", "control", "first"),
    [
        ("rest", STICK, "cloud"),
        ("letgo", STICK, "time"),
        ("travel", STICK, "time"),
        ("rim", STICK, "path"),
        ("sweep", STICK, "codes"),
        ("trigger", "left_trigger", "codes"),
        ("contact", "key_1", "time"),
        ("light", "key_1", "time"),
        ("hold", "key_1", "time"),
        ("hat", "d_pad", "time"),
        ("link", "", "intervals"),
    ],
)
def test_what_tells_most_of_a_check_is_drawn_first(drawn, check, control, first):
    assert drawn[check, control].pictures[0] == first


def test_a_check_names_no_picture_that_nothing_draws():
    known = {"time", "path", "codes", "cloud", "intervals"}
    assert {p for about in described().values() for p in about.pictures} <= known
    assert all(about.looked is None or about.pictures for about in described().values())


def test_lines_are_the_values_that_were_measured(sound, drawn):
    one = drawn["sweep", STICK]
    kept = take_from(sound, _result("sweep", STICK, Assessment(Outcome.PASS)), SHEET)
    signal = kept.take.signals[STICK]
    assert [line.axis for line in one.over_time.lines] == ["x", "y"]
    np.testing.assert_array_equal(one.over_time.lines[0].values, signal.x_pct)
    np.testing.assert_array_equal(one.over_time.lines[1].values, signal.y_pct)
    np.testing.assert_array_equal(one.over_time.lines[0].t_ns, signal.t_ns)


def test_the_limits_drawn_are_those_of_the_result_and_not_of_the_day(sound):
    """A result that was judged by 3 % shows 3 %, whatever is in force now."""
    judged = Assessment(Outcome.PASS, (Reading("offset", 1.0, "%", 0.3, limit=3.0, fail_beyond=6.0),))
    one = evidence_of(take_from(sound, _result("rest", STICK, judged), SHEET), in_force(SHEET))
    assert [level.value for level in one.over_time.levels] == [-3.0, 3.0]
    assert one.cloud is not None
    assert one.cloud.limit_pct == 3.0


def test_the_cloud_is_the_stretch_that_was_measured_with_its_centre_and_uncertainty(sound, drawn):
    one = drawn["rest", STICK]
    done = assess_capture(sound, SHEET)
    readings = {
        r.name: r for c in done.checks if (c.check, c.control) == ("rest", STICK) for r in c.assessment.readings
    }
    assert one.cloud is not None
    assert one.cloud.centre == (readings["offset_x"].value, readings["offset_y"].value)
    assert one.cloud.uncertainty == (readings["offset_x"].uncertainty, readings["offset_y"].uncertainty)
    used = [p for p in one.looked.parts if not p.why]
    assert len(used) == 1
    t = one.over_time.lines[0].t_ns
    inside = (t >= used[0].begin_ns) & (t <= used[0].end_ns)
    np.testing.assert_array_equal(one.cloud.x_pct, one.over_time.lines[0].values[inside])


def test_what_is_left_out_says_why_and_overlaps_nothing_that_is_used(drawn):
    for key, one in drawn.items():
        for part in one.looked.parts:
            assert one.begin_ns <= part.begin_ns <= part.end_ns <= one.end_ns, key
    left = {p.why for e in drawn.values() for p in e.looked.parts if p.why}
    assert left


def test_a_sound_unit_has_nowhere_to_jump_to(drawn):
    assert [stop for e in drawn.values() for stop in e.stops] == []


def test_beats_are_marked_with_what_became_of_them(drawn):
    one = drawn["light", "key_1"]
    assert {s.code for s in one.looked.spots} == {"beat"}
    assert len(one.looked.spots) >= 20
    assert one.over_time.contacts[0].own
    assert [c.name for c in one.over_time.contacts] == ["Key 1", "Key 2"]


def test_codes_are_those_seen_on_the_way(drawn):
    one = drawn["sweep", STICK]
    assert [c.axis for c in one.codes] == ["x", "y"]
    lines = one.over_time.lines
    for codes, line in zip(one.codes, lines, strict=True):
        assert set(codes.seen.tolist()) <= set(np.unique(line.values).tolist())
        assert codes.count.sum() <= len(line.values)


def test_waits_are_the_differences_of_the_arrivals(sound, drawn):
    one = drawn["link", ""]
    kept = take_from(sound, _result("link", "", Assessment(Outcome.PASS)), SHEET)
    assert one.waits is not None
    np.testing.assert_allclose(one.waits.ms, np.diff(kept.take.report_t_ns) / 1e6)


# --- places of findings -------------------------------------------------------------------------------------


def _ms(one: Evidence, t_ns: int) -> float:
    """Milliseconds since the try began; reports come up to 0.04 ms late."""
    return round((t_ns - one.begin_ns) / MS, 1)


def test_a_missed_beat_is_a_place_to_jump_to():
    starts = [at + 40 for at in BEATS_MS]
    pressed = [at for k, at in enumerate(starts) if k not in (10, 12, 13, 15)]
    one, done = _one("light", "key_15", {button(15): presses(pressed, BEATS_MS[-1] + 900, 120)}, beats_ms=BEATS_MS)
    lost = [s for s in one.looked.spots if s.code == "misses"]
    assert [_ms(one, s.begin_ns) for s in lost] == [BEATS_MS[k] for k in (10, 12, 13, 15)]
    assert all(s.faulty for s in lost)
    assert done.outcome is Outcome.FAIL
    assert [stop.spot for stop in one.stops] == lost


def test_a_dropout_of_two_milliseconds_is_at_its_place():
    closed = np.zeros(7000)
    closed[1000:6500] = 1
    closed[2200:2202] = 0
    one, done = _one("hold", "key_15", {button(15): closed})
    (spot,) = [s for s in one.looked.spots if s.code == "dropouts"]
    assert (_ms(one, spot.begin_ns), _ms(one, spot.end_ns)) == (2200, 2202)
    (contact,) = one.over_time.contacts
    assert [_ms(one, int(t)) for t in contact.start_ns] == [1000, 2202]
    assert [_ms(one, int(t)) for t in contact.end_ns] == [2200, 6500]
    assert done.outcome is Outcome.FAIL
    assert [stop.spot for stop in one.stops] == [spot]


def test_spikes_are_at_their_places():
    """Three of them, on the horizontal axis, put into a sound sweep."""
    moves = stick_moves(axis_moves.sweeps(), X, Y)
    at = [k for k in range(1000, 11_500, 40) if abs(moves[X][k] - 30.0) < 1.5 and moves[X][k + 50] > moves[X][k]][:3]
    for k in at:
        moves[X][k : k + 6] += 25.0
    one, done = _one("sweep", STICK, moves)
    found = [s for s in one.looked.spots if s.code == "spikes"]
    assert {s.axis for s in found} == {"x"}
    assert len(found) == len(at) > 0
    for spot, k in zip(found, at, strict=True):
        assert k <= _ms(one, spot.begin_ns) <= k + 6
        assert spot.at_pct == pytest.approx(30.0, abs=4.0)
    assert done.outcome is Outcome.FAIL
    assert [stop.spot for stop in one.stops] == found


def test_missing_codes_are_at_their_place():
    moves = stick_moves(axis_moves.sweeps(way_s=3.0), X, Y)
    moves[X] = np.where(np.abs(moves[X] - 40.0) < 4.0, np.where(moves[X] < 40.0, 36.0, 44.0), moves[X])
    one, done = _one("sweep", STICK, moves)
    found = [s for s in one.looked.spots if s.code == "gap"]
    assert done.outcome is Outcome.FAIL
    assert len(found) == 6, "each pass goes across it"
    assert all(s.at_pct == pytest.approx(40.0, abs=0.5) and s.width_pct == pytest.approx(8.0, abs=0.6) for s in found)
    seen = next(c for c in one.codes if c.axis == "x").seen
    assert not ((seen > 36.5) & (seen < 43.5)).any()


# --- what cannot be shown -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def pressed():
    return Script().add("contact", "key_15", {button(15): presses([400, 900, 1400], 2500, 120)}).capture()


PASSED = Assessment(Outcome.PASS)


def _kept(tmp_path, capture: Capture) -> Result:
    return _result("contact", "key_15", PASSED, files.keep(tmp_path, write_capture(capture), ".npz"))


def test_what_was_kept_is_read_again(tmp_path, pressed):
    kept = kept_of(_kept(tmp_path, pressed), tmp_path, SHEET)
    assert kept.take.control is not None
    assert kept.take.control.id == "key_15"


def _said(result: Result, captures, sheet: Sheet = SHEET) -> str:
    with pytest.raises(CaptureError) as caught:
        kept_of(result, captures, sheet)
    text = str(caught.value)
    assert text.count(". ") == 0, "one sentence"
    assert text.endswith(".")
    return text


def test_no_capture(tmp_path):
    assert "do the check" in _said(_result("contact", "key_15", PASSED), tmp_path)


def test_a_result_set_by_hand(tmp_path):
    assert "by hand" in _said(replace(_result("contact", "key_15", PASSED), by_hand=True), tmp_path)


def test_a_capture_that_is_gone(tmp_path, pressed):
    result = _kept(tmp_path, pressed)
    next(tmp_path.rglob("*.npz")).unlink()
    assert "not in the captures folder any more" in _said(result, tmp_path)


def test_a_capture_that_was_altered_is_no_evidence(tmp_path, pressed):
    result = _kept(tmp_path, pressed)
    path = next(tmp_path.rglob("*.npz"))
    other = Script().add("contact", "key_15", {button(15): presses([400, 900], 2500, 120)}).capture()
    path.write_bytes(write_capture(other))
    assert "was changed after it was recorded" in _said(result, tmp_path)


def test_a_capture_of_another_version(tmp_path, pressed, monkeypatch):
    from station.capture import file as capture_file

    monkeypatch.setattr(capture_file, "VERSION", 99)
    result = _kept(tmp_path, pressed)
    monkeypatch.undo()
    assert "version" in _said(result, tmp_path)


def test_a_capture_without_a_report(tmp_path, pressed):
    block = ReportBlock(0, *(a[:0] for a in (pressed.block.t_ns, pressed.block.size, pressed.block.raw)))
    result = _kept(tmp_path, replace(pressed, block=block))
    assert "no report" in _said(result, tmp_path)


def test_a_sheet_that_has_changed_since(tmp_path, pressed):
    result = _kept(tmp_path, pressed)
    fewer = replace(SHEET, controls=tuple(c for c in SHEET.controls if c.id != "key_15"))
    assert "model sheet was changed" in _said(result, tmp_path, fewer)
    foreign = replace(SHEET, controls=(*fewer.controls, Control("key_15", "button", "Key", at=Place(usage=0x09_0063))))
    assert "model sheet was changed" in _said(result, tmp_path, foreign)


def test_a_sheet_of_another_name_is_said(tmp_path, pressed):
    named = replace(pressed, meta=replace(pressed.meta, sheet="Plover T1"))
    kept = kept_of(_kept(tmp_path, named), tmp_path, SHEET)
    assert "Plover T1" in kept.remark


def test_no_sheet(tmp_path, pressed):
    assert "No model sheet" in _said(_kept(tmp_path, pressed), tmp_path, Sheet("gone"))


def test_a_recording_of_something_else(tmp_path, pressed):
    result = replace(_kept(tmp_path, pressed), check="hold")
    assert "no try" in _said(result, tmp_path)


def test_a_check_that_does_not_say_what_it_looked_at_is_drawn_all_the_same(drawn):
    plain = [check for check in CHECKS.values() if check.about.looked is None and (check.name, "d_pad") in drawn]
    assert plain
    assert all(drawn[check.name, "d_pad"].looked.parts == () for check in plain)


def test_a_silence_of_a_unit_that_reports_all_the_time_is_a_gap(sound):
    t = sound.block.t_ns
    begin = next(m for m in sound.marks if m.event == "begin" and (m.check, m.control) == ("link", "")).time_ns
    at = int(np.searchsorted(t, begin)) + 2000
    keep = np.ones(len(t), dtype=bool)
    keep[at : at + 300] = False
    block = replace(sound.block, t_ns=t[keep], size=sound.block.size[keep], raw=sound.block.raw[keep])
    holed = replace(sound, block=block)
    one = evidence_of(take_from(holed, _result("link", "", PASSED), SHEET), in_force(SHEET))
    assert len(one.silent_ns) == 1
    begin_ns, end_ns = one.silent_ns[0]
    assert t[at - 1] < begin_ns < t[at + 5]
    assert end_ns == t[at + 300]


def test_a_finding_that_no_place_shows_leads_to_the_whole_try(sound):
    odd = Assessment(Outcome.FAIL, findings=(Finding("dead_axis", "dead", "x"),))
    one = evidence_of(take_from(sound, _result("rest", STICK, odd), SHEET), in_force(SHEET))
    assert [(s.begin_ns, s.end_ns) for s in one.stops] == [(one.begin_ns, one.end_ns)]


# --- places of rest -----------------------------------------------------------------------------------------


def _rest_of_sample(tag: str) -> tuple[Evidence, Assessment]:
    capture = read_capture(SAMPLE_UNITS / f"{tag}.npz")
    done = assess_file(SAMPLE_UNITS / f"{tag}.npz")
    (rest,) = [c for c in done.checks if (c.check, c.control) == ("rest", STICK)]
    kept = take_from(capture, _result("rest", STICK, rest.assessment), done.sheet)
    return evidence_of(kept, in_force(done.sheet)), rest.assessment


@pytest.mark.parametrize("tag", ["SM-07-01", "SM-07-07", "SM-07-11"])
def test_the_centre_that_is_said_is_the_mean_of_the_places_that_are_drawn(tag):
    one, done = _rest_of_sample(tag)
    assert one.cloud is not None
    assert one.cloud.centre is not None
    np.testing.assert_allclose(one.cloud.settled.mean(axis=0), one.cloud.centre, atol=1e-9)
    (offset,) = [r for r in done.readings if r.name == "offset"]
    assert len(one.cloud.settled) == offset.n
    assert words.RINGS in legend(one, "cloud")


def test_a_stick_that_comes_to_rest_at_two_places_shows_both():
    one, _ = _rest_of_sample("SM-07-11")
    assert one.cloud is not None
    off = np.hypot(*one.cloud.settled.T)
    assert off.min() < 2.0
    assert off.max() > 14.0
    assert not len(one.cloud.set_aside)


def test_places_that_the_measure_left_out_of_the_mean_are_drawn_apart():
    """Let go from the right alone it stays away: the mean is of the other sides."""
    from_deg = np.array([0.0, 90.0, 180.0, 270.0])
    points = np.array([[0.1, 0.2], [12.0, 0.0], [0.1, -0.2], [-0.2, 0.0]])
    found = middle(from_deg, points)
    assert found.used == (True, False, True, True)
    np.testing.assert_allclose(points[np.array(found.used)].mean(axis=0), (found.x, found.y))


def test_the_legend_says_what_each_sign_of_a_picture_is(drawn):
    rim, letgo, light = drawn["rim", STICK], drawn["letgo", STICK], drawn["light", "key_1"]
    assert words.REACH in legend(rim, "path")
    assert words.FITTED in legend(rim, "path")
    assert words.SETTLED in legend(letgo, "path")
    assert words.CIRCLES.format(what="beat, answered") in legend(light, "time")
    assert words.DIAMONDS not in legend(light, "time"), "nothing is wrong with it"
    assert words.CIRCLES.format(what="beat, answered") not in legend(light, "intervals"), "there are none there"
