"""The Live pane: dials, columns, strips and the time plot on simulated signals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scenes
from pad import DEVICE, button, stick, trigger
from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QImage
from workbench import Workbench

from station.checks.types import Progress
from station.sheets.signals import ButtonSignal
from station.sources.port import SourceStatus
from station.ui.header import device_line
from station.ui.live.dial import BearingDial
from station.ui.live.dial_layer import RimView
from station.ui.painting.look import DARK
from station.ui.window import MainWindow

MS = 1_000_000


def painted(image: QImage, box: QRect, name: str) -> int:
    """Pixels of exactly this colour inside a box."""
    part = image.copy(box).convertToFormat(QImage.Format.Format_RGB32)
    data = np.frombuffer(part.constBits(), np.uint32).reshape(part.height(), part.bytesPerLine() // 4)
    return int(((data[:, : part.width()] & 0xFFFFFF) == QColor(name).rgb() & 0xFFFFFF).sum())


@pytest.fixture
def dials(visit: MainWindow) -> dict[str, BearingDial]:
    return visit.live.dials


def test_every_stick_trigger_and_contact_of_the_sheet_is_there(visit: MainWindow) -> None:
    assert list(visit.live.dials) == ["left_stick", "right_stick"]
    assert visit.live.columns is not None
    assert [c for c, _ in visit.live.columns.names] == ["left_trigger", "right_trigger"]
    assert visit.live.strips is not None
    assert len(visit.live.strips.rows) == 11


def test_a_stick_that_never_reported_looks_different_from_a_centred_one(
    visit: MainWindow, desk: Workbench, dials: dict[str, BearingDial]
) -> None:
    desk.feed(right_stick=stick(0, 0.0, 0.0))
    visit.tick()
    assert dials["left_stick"].point is None
    assert dials["right_stick"].point == (0.0, 0.0)
    left, right = (dials[d].grab().toImage() for d in ("left_stick", "right_stick"))
    assert left != right
    assert painted(left, left.rect(), DARK.good) == 0
    assert painted(right, right.rect(), DARK.text) > 20


def test_the_point_stands_where_the_stick_is(visit: MainWindow, desk: Workbench, dials: dict[str, BearingDial]) -> None:
    desk.feed(left_stick=stick(0, 100.0, 0.0))
    visit.tick()
    dial = dials["left_stick"]
    image = dial.grab().toImage()
    room = min(dial.width(), dial.height() - dial.caption_height())
    middle = QRect(0, (dial.height() - dial.caption_height()) // 2 - 12, dial.width() // 2, 24)
    right = middle.translated(dial.width() // 2, 0)
    assert room > 100
    assert painted(image, right, DARK.text) > painted(image, middle, DARK.text)


def test_rim_sectors_and_settle_points_come_from_the_running_check(
    visit: MainWindow, desk: Workbench, dials: dict[str, BearingDial]
) -> None:
    scenes.rolling(desk)
    desk.settle(visit)
    progress, rim = desk.session().progress, dials["right_stick"].rim
    assert progress is not None
    assert rim is not None
    assert 40 < rim.seen.sum() < 72
    assert rim.seen.tolist() == np.asarray(progress.marks["sectors"]).tolist()
    assert dials["left_stick"].rim is None
    desk.run("letgo", "left_stick")
    desk.flick("left_stick", (100.0, 0.0))
    desk.settle(visit)
    assert len(dials["left_stick"]._settled) == 1


def test_marks_of_the_wrong_shape_are_left_alone(visit: MainWindow, desk: Workbench) -> None:
    desk.go_to("rim", "right_stick")
    marks = {"sectors": np.ones(5), "sector_reach": np.ones(5)}
    visit.live.set_session(replace(desk.session(), progress=Progress(False, "", 0.4, (), marks)))
    assert visit.live.dials["right_stick"].rim is None


def test_a_rim_that_falls_short_is_drawn_in_another_colour_and_length(dials: dict[str, BearingDial]) -> None:
    dial = dials["left_stick"]
    dial.set_rim(RimView(np.ones(72, np.bool_), np.full(72, 99.0)))
    full = dial.grab().toImage()
    dial.set_rim(RimView(np.ones(72, np.bool_), np.full(72, 70.0)))
    short = dial.grab().toImage()
    good, bad = painted(full, full.rect(), DARK.good), painted(short, short.rect(), DARK.bad)
    assert bad > 0
    assert painted(full, full.rect(), DARK.bad) == 0
    assert bad < 0.7 * good


def test_triggers_are_columns_and_an_unknown_one_has_no_value(visit: MainWindow, desk: Workbench) -> None:
    desk.feed(left_trigger=trigger(0, 62.0))
    visit.tick()
    assert visit.live.columns is not None
    values = visit.live.columns.values
    assert values["left_trigger"] == pytest.approx(62.0, abs=0.01)
    assert values["right_trigger"] is None


def strip_image(visit: MainWindow, row: int) -> tuple[QImage, QRect]:
    strips = visit.live.strips
    assert strips is not None
    return strips.grab().toImage(), strips._strips[row]


def test_a_closure_of_a_tenth_of_a_millisecond_is_seen(visit: MainWindow, desk: Workbench) -> None:
    desk.advance(10_000)
    t = np.array([0, 5_000 * MS, 5_000 * MS + 100_000])
    desk.feed(left_shoulder=ButtonSignal(t, np.array([False, True, False])))
    visit.tick()
    image, box = strip_image(visit, 0)
    ground = painted(image, box, DARK.ground)
    assert box.width() * box.height() - ground > 10


def test_an_opening_of_a_millisecond_in_a_press_is_seen(visit: MainWindow, desk: Workbench) -> None:
    def marks(opening: bool) -> int:
        t = [0, 2_000 * MS, 8_000 * MS]
        closed = [False, True, False]
        if opening:
            t[2:2] = [5_000 * MS + 300_000, 5_001 * MS + 300_000]
            closed[2:2] = [False, True]
        desk.advance(20_000)
        begin = desk.now_ns - 10_000 * MS
        desk.feed(left_shoulder=ButtonSignal(begin + np.array(t), np.array(closed)))
        visit.tick()
        image, box = strip_image(visit, 0)
        return painted(image, box.adjusted(box.width() // 4, 0, -box.width() // 4, 0), DARK.ground)

    assert marks(opening=True) > marks(opening=False) + 5


def test_a_contact_that_never_reported_is_a_dashed_outline(visit: MainWindow, desk: Workbench) -> None:
    assert visit.live.strips is not None
    visit.live.strips.set_current("left_shoulder", "right_shoulder")  # both are asked for
    desk.feed(left_shoulder=button(0, False))
    visit.tick()
    image, known = strip_image(visit, 0)
    _, unknown = strip_image(visit, 1)
    assert painted(image, known, DARK.ground) > 0.9 * known.width() * known.height()
    assert painted(image, unknown, DARK.ground) == 0


def test_a_missed_beat_is_marked_in_the_lane_of_its_row(visit: MainWindow, desk: Workbench) -> None:
    desk.run("light", "left_shoulder")
    desk.feed(left_shoulder=button(desk.now_ns, False))
    desk.settle(visit)
    strips = visit.live.strips
    assert strips is not None
    lane = strips._lane_box()
    scenes.press_on_beats(desk, "left_shoulder", "right_shoulder", count=3)
    visit.tick()
    registered = strips.grab().toImage()
    scenes.press_on_beats(desk, "left_shoulder", "right_shoulder", count=6, missed=4)
    visit.tick()
    assert "missed" in {b.state for b in desk.session().beats}
    missed = strips.grab().toImage()
    assert painted(registered, lane, DARK.bad) == 0
    assert painted(missed, lane.united(strips._strips[0]), DARK.bad) > 10


def test_contacts_that_do_nothing_are_folded_away_by_name(visit: MainWindow, desk: Workbench) -> None:
    """A row stands open while it moves or is asked for, and folds away when it has been quiet for ten seconds."""
    strips = visit.live.strips
    assert strips is not None
    desk.feed(south=button(0, False), east=button(0, False))
    visit.tick()
    assert list(strips._strips) == []
    quiet, unheard = strips.folded.split("\n")
    assert quiet == "quiet: South, East"
    assert "Left shoulder" in unheard
    desk.feed(south=button(desk.now_ns + MS, True))
    desk.advance(20)
    visit.tick()
    assert [strips.rows[k].name for k in strips._strips] == ["South"]
    desk.go_to("contact", "east")
    visit.tick()
    assert [strips.rows[k].name for k in strips._strips] == ["South", "East"]
    desk.feed(south=button(desk.now_ns + 80 * MS, False))
    for _ in range(21):
        desk.advance(500)
        visit.tick()
    assert [strips.rows[k].name for k in strips._strips] == ["East"], "asked for: it stays"


def test_rows_stand_in_two_columns_when_there_are_too_many(visit: MainWindow) -> None:
    strips = visit.live.strips
    assert strips is not None
    strips.resize(600, 150)
    strips.set_current("", also=frozenset(row.control for row in strips.rows))
    visit.tick()
    boxes = list(strips._strips.values())
    assert len(boxes) == 11
    assert len({b.x() for b in boxes}) == 2
    assert all(strips.rect().contains(b) for b in boxes)
    assert not any(a.intersects(b) for k, a in enumerate(boxes) for b in boxes[k + 1 :])


def test_the_time_plot_is_there_for_checks_of_an_axis_only(visit: MainWindow, desk: Workbench) -> None:
    desk.go_to("sweep", "left_stick")
    visit.tick()
    assert visit.live.trace.isVisible()
    desk.advance(10_000)
    t = desk.now_ns - 9_000 * MS + np.arange(9_000) * MS
    desk.feed(left_stick=stick(t, np.sin(t * 1e-9) * 90, np.zeros(9_000)))
    visit.tick()
    assert 0 < visit.live.trace.points <= 2 * visit.live.trace.width() + 1
    desk.go_to("contact", "south")
    visit.tick()
    assert not visit.live.trace.isVisible()


def test_another_device_forgets_what_was_drawn(window: MainWindow, desk: Workbench) -> None:
    desk.plug_in()
    desk.settle(window)
    desk.advance(5000)
    desk.feed(south=button(4_000 * MS, True))
    window.tick()
    assert window.live.tracks.state("south") is not None
    desk.plug_in(replace(DEVICE, key="pad:2", serial="another"))
    desk.settle(window)
    assert window.live.tracks.state("south") is None


def test_the_device_line_is_written_as_the_system_writes(german_screen: None) -> None:
    said = device_line(None, SourceStatus("live", 1234, "process", 62.0), 1000.0)
    for figure in ("1.000 reports", "1.234 lost", "±0,06"):
        assert figure in said


def test_the_device_line_says_bus_rate_lost_and_stamp_error(visit: MainWindow, desk: Workbench) -> None:
    for _ in range(151):
        t = desk.now_ns + np.arange(1, 17) * MS
        desk.feed(left_trigger=trigger(t, np.zeros(16)))
        desk.advance(16)
        visit.tick()
    text = visit.header.device.text()
    assert text.startswith("USB · 1,000 reports/s · 0 lost · stamp ±0.06\N{NO-BREAK SPACE}ms")
    assert DEVICE.bus == "usb"


def test_rows_and_their_bars_stay_together_when_the_beat_lane_comes_and_goes(
    visit: MainWindow, desk: Workbench
) -> None:
    desk.advance(10_000)
    desk.feed(
        right_shoulder=ButtonSignal(np.array([0, 1_000 * MS, 9_000 * MS]), np.array([False, True, False])),
        left_shoulder=button(0, False),
    )
    visit.tick()
    strips = visit.live.strips
    assert strips is not None
    for check in ("light", "contact"):
        desk.go_to(check, "left_shoulder")
        strips.grab()
        visit.tick()
        strips.grab()
        visit.tick()
        image = strips.grab().toImage()
        assert list(strips._strips) == [0, 1], "the one that is asked for, and the one that moved"
        asked, own = strips._strips[0], strips._strips[1]
        assert painted(image, asked, DARK.ground) > 0.9 * asked.width() * asked.height()
        assert painted(image, own, DARK.ground) < 0.5 * own.width() * own.height()
        assert painted(image, own.adjusted(0, 0, 0, 0), DARK.ground) > 0
