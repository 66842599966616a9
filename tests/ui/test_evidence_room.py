"""The evidence room: what is drawn is the data, by pixels; keys, and opening and closing it many times."""

from __future__ import annotations

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest
import scenes
from pad import stick
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QFontMetricsF, QImage
from PySide6.QtWidgets import QApplication, QLabel, QLayout
from workbench import Workbench

from station.app import paths
from station.checks.looked import Looked, Part, Spot
from station.checks.said import title_on
from station.checks.types import Assessment, Outcome
from station.evidence.drawing import Codes, Contact, Evidence, Line, OverTime, Path, Stop, Waits
from station.records.types import Result
from station.ui.evidence.lay_over import LayOverPanel
from station.ui.evidence.over_time import TONES
from station.ui.evidence.plots import Cursors, Plots
from station.ui.painting.look import DARK, LIGHT, Look, color
from station.ui.panels.open_points import CertificatePanel
from station.ui.window import MainWindow
from station.words import evidence_room as words
from station.words.grammar import sentence_start
from tests.lots.made_shop import COURSE, long_course

NS = 125_000
MS = 1_000_000
NONE = np.empty((0, 2), dtype=np.int64)


def _evidence(lines=(), contacts=(), lasted_ns: int = 10_000 * MS, silent=NONE, looked=None, **more) -> Evidence:
    over_time = OverTime(tuple(lines), tuple(contacts), (), (-100.0, 100.0))
    return Evidence(
        "Left stick, slow sweep", Outcome.FAIL, 0, lasted_ns, 1, ("time",), over_time, silent_ns=silent,
        looked=looked or Looked(), **more,
    )  # fmt: skip


@pytest.fixture
def plots(qtbot):
    made = Plots(LIGHT)
    qtbot.addWidget(made, before_close_func=lambda w: w.close_plots())
    made.layout().setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)  # a window by itself, here alone
    made.resize(900, 600)
    made.show()
    return made


def _pixels(plots: Plots, tone: str, look: Look = LIGHT) -> np.ndarray:
    """bool[y, x] of the plot of values or contacts in front: where it has this colour."""
    QApplication.processEvents()
    part = plots.over_time()
    assert part is not None
    plot = part.values if part.values.isVisible() else part.contacts
    image = plot.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    box = plot.item.vb.sceneBoundingRect().toRect()
    raw = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    wanted = color(getattr(look, tone))
    found = (raw[..., 2] == wanted.red()) & (raw[..., 1] == wanted.green()) & (raw[..., 0] == wanted.blue())
    return found[box.top() : box.bottom(), box.left() : box.right()]


# --- what is drawn is the data ------------------------------------------------------------------------------


def _spiked(n: int, at: int) -> Line:
    t = np.arange(n, dtype=np.int64) * NS
    values = np.zeros(n)
    values[at] = 80.0
    return Line("x", "%", t, values, "x")


@pytest.mark.parametrize("wide_s", [50.0, 10.0, 1.0, 0.1, 0.01, 0.001])
def test_a_spike_of_one_report_is_seen_at_every_zoom(plots: Plots, wide_s: float):
    n, at = 400_000, 271_828
    plots.show_evidence(_evidence([_spiked(n, at)], lasted_ns=n * NS))
    part = plots.over_time()
    assert part is not None
    middle = at * NS / 1e9
    part.zoom_to(middle - wide_s / 3, middle + 2 * wide_s / 3)
    seen = _pixels(plots, TONES[0])
    tall, wide = seen.shape
    shown = part.shown_s()
    low, high = part.values.item.vb.viewRange()[1]
    y = round((high - 80.0) / (high - low) * tall)
    x = round((middle - shown[0]) / (shown[1] - shown[0]) * wide)
    rows, columns = np.nonzero(seen)
    top = rows.min()
    assert abs(top - y) <= 2
    spike = columns[rows < (tall // 2 + y) // 2]
    held = max(NS / 1e9 / (shown[1] - shown[0]) * wide, 1)
    assert spike.min() >= x - 3
    assert spike.max() <= x + held + 3


@pytest.mark.parametrize("n", [4_000, 400_000], ids=["as reports", "in columns"])
def test_nothing_is_drawn_where_nothing_is_known(plots: Plots, n: int):
    t = np.arange(n, dtype=np.int64) * NS
    lasted = n * NS
    begin, end = int(0.4 * lasted), int(0.6 * lasted)
    keep = (t < begin) | (t >= end)
    line = Line("x", "%", t[keep], np.where(t[keep] < begin, -50.0, 50.0), "x")
    plots.show_evidence(_evidence([line], lasted_ns=lasted, silent=np.array([[begin, end]], dtype=np.int64)))
    seen = _pixels(plots, TONES[0]).any(axis=0)
    wide = len(seen)
    part = plots.over_time()
    assert part is not None
    low, high = part.shown_s()

    def x(t_ns: float) -> int:
        return round((t_ns / 1e9 - low) / (high - low) * wide)

    assert not seen[x(begin) + 2 : x(end) - 2].any()
    assert seen[x(0.05 * lasted) : x(begin) - 3].all()
    assert seen[x(end) + 3 : x(0.95 * lasted)].all()


@pytest.mark.parametrize("wide_s", [10.0, 1.0, 0.1])
def test_a_dropout_of_two_milliseconds_is_seen_at_every_zoom(plots: Plots, wide_s: float):
    at = 4321 * MS
    contact = Contact("A", np.array([1000 * MS, at + 2 * MS]), np.array([at, 9000 * MS]))
    plots.show_evidence(_evidence([], [contact]))
    part = plots.over_time()
    assert part is not None
    part.zoom_to(at / 1e9 - wide_s / 2, at / 1e9 + wide_s / 2)
    seen = _pixels(plots, "accent")
    row = seen[np.argmax(seen.sum(axis=1))]
    low, high = part.contacts.item.vb.viewRange()[0]
    x = round((at / 1e9 - low) / (high - low) * len(row))
    wide = 0.002 / (high - low) * len(row)
    opened = np.flatnonzero(~row)
    opened = opened[np.abs(opened - x) < max(wide, 2) + 4]
    assert 1 <= len(opened) <= wide + 4
    assert row[x - 10 - int(wide) : x - 3].all()


def _beats(count: int) -> Looked:
    spots = (Spot("misses", "missed", k * 400 * MS, k * 400 * MS + 1, faulty=k % 2 == 0) for k in range(count))
    return Looked((), tuple(spots))


@pytest.mark.parametrize("contacts", [1, 2, 5])
def test_contacts_alone_fill_the_picture_and_their_names_are_clear_of_the_marks(plots: Plots, contacts: int):
    at = np.arange(10, dtype=np.int64) * 900 * MS
    told = [Contact(f"Left shoulder {k}", at, at + 300 * MS, own=k == 0) for k in range(contacts)]
    plots.show_evidence(_evidence([], told, looked=_beats(24)))
    own, others, marks, said = (_pixels(plots, tone).any(axis=1) for tone in ("accent", "dim", "bad", "text"))
    tall = len(own)
    lowest = own if contacts == 1 else others
    assert np.flatnonzero(lowest).max() > 0.8 * tall, "nothing is empty below the last"
    assert np.flatnonzero(marks).max() < np.flatnonzero(own).min(), "marks stand above the bars"
    assert not (marks & said).any(), "no words among the marks"
    part = plots.over_time()
    assert part is not None
    axis = part.contacts.item.getAxis("left")
    assert [name for _, name in axis._tickLevels[0]] == [c.name for c in told]
    wide = QFontMetricsF(LIGHT.font(13)).horizontalAdvance(told[0].name)
    assert axis.width() > wide, "names are whole"
    places = [at for at, _ in axis._tickLevels[0]]
    assert places == sorted(places, reverse=True)
    assert 0.0 < places[-1] <= places[0] < 1.0


def test_a_press_that_is_split_is_seen_as_two_bars_however_narrow(plots: Plots):
    start = np.array([4000 * MS, 4010 * MS], dtype=np.int64)
    plots.show_evidence(_evidence([], [Contact("A", start, start + 8 * MS)]))
    row = _pixels(plots, "accent").any(axis=0)
    edges = np.flatnonzero(np.diff(row.astype(int)) == 1)
    assert len(edges) == 2


def test_a_place_is_shown_so_large_that_a_small_spike_is_seen(plots: Plots):
    """A spike of 4 % among values of ±100 % fills a good part of the picture; the whole try shows all values again."""
    t = np.arange(8000, dtype=np.int64) * NS
    values = np.linspace(-100.0, 100.0, 8000)
    values[4000] += 4.0
    spot = Spot("spikes", "a spike", int(t[4000]), int(t[4001]), "x", 0.0)
    lines = [Line("y", "%", t, np.zeros(8000), "y"), Line("x", "%", t, values, "x")]
    evidence = _evidence(lines, lasted_ns=8000 * NS, looked=Looked((), (spot,)))
    plots.show_evidence(evidence)
    part = plots.over_time()
    assert part is not None
    whole = part.values.item.vb.viewRange()[1]
    plots.go_to(Stop("a spike", spot.begin_ns, spot.end_ns, spot))
    low, high = part.values.item.vb.viewRange()[1]
    begin, end = (t[np.searchsorted(t, s * 1e9)] for s in part.shown_s())
    inside = values[(t >= begin) & (t <= end)]
    assert low < inside.min()
    assert inside.max() < high
    assert high - low < 2.0 * max(inside.max() - inside.min(), 1.5)
    plots.whole()
    assert part.values.item.vb.viewRange()[1] == pytest.approx(whole)


def test_the_key_names_each_line_in_its_colour_and_says_how_many_are_not_drawn(plots: Plots):
    t = np.arange(10, dtype=np.int64) * MS
    lines = [Line(f"line {k}", "%", t, np.full(10, float(k)), "") for k in range(len(TONES) + 2)]
    plots.show_evidence(_evidence(lines[:2]))
    part = plots.over_time()
    assert part is not None
    assert part.key.names == tuple((tone, line.name) for tone, line in zip(TONES, lines[:2], strict=False))
    image = part.key.grab().toImage()
    painted = {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}
    assert {color(getattr(LIGHT, tone)).name() for tone in TONES[:2]} <= painted
    plots.show_evidence(_evidence(lines))
    assert part.key.names[-1] == ("", words.MORE_LINES.format(lines="2 lines"))
    plots.show_evidence(_evidence(lines[:1]))
    assert part.key.isHidden(), "one line needs no key"


def test_a_contact_that_is_laid_over_stands_below_its_own_and_is_told_from_it(plots: Plots):
    """Twins and tries must not be mistaken for each other: order, name and colour say which is which."""
    begin, end = np.array([1000 * MS]), np.array([2000 * MS])
    one = _evidence([], (Contact("A", begin, end), Contact("B", begin, end, own=False)))
    plots.show_evidence(one, one)
    part = plots.over_time()
    assert part is not None
    names = [text for _, text in part.contacts.item.getAxis("left")._tickLevels[0]]
    assert names == ["A", "A (laid over)", "B", "B (laid over)"]
    assert [lane.tone for lane in part.contacts.overlay.lanes] == ["accent", "borderline", "dim", "dim"]


def test_every_report_is_a_dot_when_there_is_room_for_it(plots: Plots):
    t = np.arange(1000, dtype=np.int64) * 10 * MS
    plots.show_evidence(_evidence([Line("x", "%", t, np.linspace(-90, 90, 1000), "x")]))
    part = plots.over_time()
    assert part is not None
    assert len(part._points.data) == 0
    part.zoom_to(2.0, 2.2)
    assert 20 <= len(part._points.data) <= 23
    part.zoom_to(0.0, 10.0)
    assert len(part._points.data) == 0


def test_what_was_used_is_shaded_and_what_was_left_out_is_hatched(plots: Plots):
    line = Line("x", "%", np.array([0], dtype=np.int64), np.array([0.0]), "x")
    parts = (Part(0, 5_000 * MS, "before"), Part(5_000 * MS, 10_000 * MS))
    plots.show_evidence(_evidence([line], looked=Looked(parts)))
    hatched = _pixels(plots, "dim")[8:-8]
    half = hatched.shape[1] // 2
    assert hatched[:, 10 : half - 10].sum() > 200
    assert hatched[:, half + 10 :].sum() == 0


def test_the_place_of_a_fault_is_marked_where_it_is(plots: Plots):
    line = Line("x", "%", np.array([0], dtype=np.int64), np.array([0.0]), "x")
    spot = Spot("spikes", "a spike", 7_500 * MS, 7_500 * MS, "x", 10.0)
    plots.show_evidence(_evidence([line], looked=Looked((), (spot,))))
    marked = np.flatnonzero(_pixels(plots, "bad").any(axis=0))
    part = plots.over_time()
    assert part is not None
    low, high = part.shown_s()
    x = (7.5 - low) / (high - low) * _pixels(plots, "bad").shape[1]
    assert abs(marked.mean() - x) <= 2


def test_missing_codes_are_an_empty_stretch(plots: Plots):
    seen = np.concatenate((np.linspace(-100, 20, 3000), np.linspace(30, 100, 2000)))
    codes = Codes("Left stick, horizontal", "x", seen, np.full(5000, 9), (-100.0, 100.0))
    evidence = replace(_evidence([]), pictures=("codes",), codes=(codes,))
    plots.show_evidence(evidence)
    QApplication.processEvents()
    track = plots._made["codes"]._tracks[0]
    image = track.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    box = track.item.vb.sceneBoundingRect().toRect()
    raw = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), -1, 4)
    tone = color(LIGHT.accent)
    there = ((raw[..., 2] == tone.red()) & (raw[..., 0] == tone.blue()))[box.top() : box.bottom() - 4]
    columns = there[:, box.left() : box.right()].any(axis=0)
    low, high = track.item.vb.viewRange()[0]
    at = ((np.arange(len(columns)) + 0.5) / len(columns)) * (high - low) + low
    assert not columns[(at > 21) & (at < 29)].any()
    assert columns[(at > -99) & (at < 19)].all()


def test_a_long_way_is_drawn_as_the_places_that_were_seen(plots: Plots):
    angle = np.linspace(0, 20 * np.pi, 50_000)
    t = np.arange(50_000, dtype=np.int64) * NS
    path = Path(Line("x", "%", t, 90 * np.cos(angle), "x"), Line("y", "%", t, 90 * np.sin(angle), "y"))
    plots.show_evidence(replace(_evidence([]), pictures=("path",), path=path))
    field = plots._made["path"]
    dots = field._dots[0].data
    assert 500 < len(dots) < 50_000
    assert np.hypot(dots["x"], dots["y"]) == pytest.approx(90.0, abs=0.2)


def test_the_same_line_items_are_used_for_every_result(plots: Plots):
    """Nothing of the plot library is made or thrown away from one result to the next."""
    plots.show_evidence(_evidence([_spiked(1000, 5)], lasted_ns=1000 * NS))
    part = plots.over_time()
    assert part is not None
    before = {id(i) for plot in part.plots() for i in plot.item.items}
    waits = Waits(np.arange(10, dtype=np.int64) * MS, np.ones(10))
    plots.show_evidence(replace(_evidence([_spiked(500, 7)] * 4, lasted_ns=500 * NS), waits=waits))
    assert {id(i) for plot in part.plots() for i in plot.item.items} == before


# --- the room -----------------------------------------------------------------------------------------------


@pytest.fixture
def room(window: MainWindow, desk: Workbench) -> MainWindow:
    """The window with the unit shown."""
    scenes.looked_at(desk)
    window.bench.open_unit(desk.store.unit(scenes.LOOKED_AT.id))
    desk.settle(window)
    return window


def test_the_library_is_loaded_when_a_result_is_first_shown(room: MainWindow, desk: Workbench):
    assert room.evidence.plots is None
    room.act("evidence.open")
    desk.settle(room)
    assert room.evidence.plots is not None


def test_it_opens_at_what_is_worst_and_escape_leads_back(room: MainWindow, desk: Workbench, press):
    press(room, Qt.Key.Key_I)
    assert room.view_name() == "evidence"
    view = room.evidence
    assert view.evidence is not None
    assert view.evidence.outcome is Outcome.FAIL
    assert view.plots is not None
    assert view.plots.isVisible()
    press(room, Qt.Key.Key_Escape)
    assert room.view_name() == "bench"


def _open(room: MainWindow, desk: Workbench, check: str, control: str, finding: str = "") -> None:
    room.rooms["evidence"].open_at((check, control), finding)
    desk.settle(room)


def test_enter_on_a_result_a_finding_and_a_reading(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "rest", "left_stick")
    view = room.evidence
    lines = view.list.lines()
    at = next(k for k, line in enumerate(lines) if line.what.result.check == "sweep")
    view.list.choose(at)
    press(room, Qt.Key.Key_Return)
    assert view.result is not None
    assert view.result.check == "sweep"
    assert view.plots is not None
    assert view.plots.picture == "codes"
    at = next(k for k, line in enumerate(view.list.lines()) if line.what.finding == 0)
    view.list.choose(at)
    press(room, Qt.Key.Key_Return)
    assert view.plots.picture == "time"
    assert view.stop == 0
    begin, end = view.plots.shown_s()
    assert view.evidence is not None
    at_s = (view.evidence.stops[0].begin_ns - view.evidence.begin_ns) / 1e9
    assert begin < at_s < end
    assert end - begin < 1.0
    at = next(k for k, line in enumerate(view.list.lines()) if line.what.reading == 0)
    view.list.choose(at)
    press(room, Qt.Key.Key_Return)
    assert view.stop == -1


def test_from_place_to_place(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "light", "key_15", "misses")
    view = room.evidence
    assert view.stop == 0
    places = []
    for _ in range(3):
        press(room, Qt.Key.Key_N)
        assert view.plots is not None
        places.append(sum(view.plots.shown_s()) / 2)
    assert view.stop == 3
    assert places == sorted(places)
    press(room, Qt.Key.Key_N)
    assert room.foot.message.text() == words.LAST_PLACE
    press(room, Qt.Key.Key_B)
    assert view.stop == 2
    assert "Place 3 of 4" in view.between.text()


def test_zoom_and_move_by_keys(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "light", "key_15")
    plots = room.evidence.plots
    assert plots is not None
    whole = plots.shown_s()
    for _ in range(14):
        room.act("evidence.zoom_in")
    begin, end = plots.shown_s()
    assert end - begin < 0.01 * (whole[1] - whole[0])
    room.act("evidence.later")
    assert plots.shown_s()[0] == pytest.approx(begin + 0.25 * (end - begin))
    room.act("evidence.whole")
    assert plots.shown_s() == pytest.approx(whole, rel=0.02)
    for _ in range(3):
        room.act("evidence.zoom_out")
    assert plots.shown_s()[1] - plots.shown_s()[0] <= 1.05 * (whole[1] - whole[0])


def test_two_cursors_and_what_lies_between_them(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "sweep", "left_stick", "spikes")
    press(room, Qt.Key.Key_1)
    view = room.evidence
    assert "Cursor at" in view.between.text()
    room.act("evidence.later")
    press(room, Qt.Key.Key_2)
    assert "apart" in view.between.text()
    assert "rms about the mean" in view.between.text()
    assert view.cursors is not None
    before = view.cursors.second
    press(room, Qt.Key.Key_K)
    assert view.cursors.second > before
    press(room, Qt.Key.Key_J)
    press(room, Qt.Key.Key_J)
    assert view.cursors.second < before + 0.001
    press(room, Qt.Key.Key_X)
    assert view.cursors is None
    assert "apart" not in view.between.text()


def test_a_click_sets_a_cursor(room: MainWindow, desk: Workbench, qtbot):
    _open(room, desk, "light", "key_15")
    QApplication.processEvents()
    part = room.evidence.plots.over_time()
    plot = part.contacts
    spot = plot.mapFromScene(plot.item.vb.sceneBoundingRect().center())
    qtbot.mouseClick(plot.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    low, high = plot.item.vb.viewRange()[0]
    assert room.evidence.cursors is not None
    assert room.evidence.cursors.first == pytest.approx((low + high) / 2, rel=0.02)


def test_every_picture_of_a_result_by_one_key(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "rest", "left_stick")
    view = room.evidence
    assert view.evidence is not None
    seen = []
    for _ in view.evidence.pictures:
        assert view.plots is not None
        seen.append(view.plots.picture)
        press(room, Qt.Key.Key_V)
    assert tuple(seen) == view.evidence.pictures
    assert view.plots.picture == seen[0]


def test_what_cannot_be_shown_is_said_and_nothing_is_drawn(room: MainWindow, desk: Workbench):
    _open(room, desk, "sweep", "left_stick")
    view = room.evidence
    assert view.plots is not None
    assert view.plots.isVisible()
    _open(room, desk, "hold", "key_15")
    assert view.problem.text() == words.MARKED_BY_HAND
    assert not view.plots.isVisible()
    result = next(r for r in desk.store.history(scenes.LOOKED_AT.id).results if r.check == "sweep")
    file = next(paths.records_folder().rglob(f"{result.capture_sha256}.npz"))
    file.write_bytes(b"other")
    _open(room, desk, "sweep", "left_stick")
    assert "changed after it was recorded" in view.problem.text()
    assert not view.plots.isVisible()


def test_a_click_on_a_finding_of_the_record_opens_it(room: MainWindow, desk: Workbench, qtbot):
    label = next(w for w in _labels(room) if "noisy track" in w.text())
    qtbot.mouseClick(label, Qt.MouseButton.LeftButton)
    desk.settle(room)
    assert room.view_name() == "evidence"
    assert room.evidence.result is not None
    assert room.evidence.result.check == "sweep"
    assert room.evidence.stop == 0


def test_enter_on_a_finding_of_the_record_opens_it(room: MainWindow, desk: Workbench, qtbot):
    label = next(w for w in _labels(room) if "misses light presses" in w.text())
    label.setFocus()
    qtbot.keyClick(label, Qt.Key.Key_Return)
    desk.settle(room)
    assert room.view_name() == "evidence"
    assert room.evidence.result is not None
    assert room.evidence.result.check == "light"


def test_enter_on_a_figure_of_the_comparison_opens_that_visit(room: MainWindow, desk: Workbench, qtbot):
    scenes.looked_at_again(desk)
    room.bench.open_unit(desk.store.unit(scenes.LOOKED_AT.id))
    room.act("record.all_rows")
    desk.settle(room)
    results = [r for r in desk.store.history(scenes.LOOKED_AT.id).results if r.check == "rest"]
    wanted = list[str]()
    grid = room.record._visits
    row = next(k for k, row in enumerate(grid._rows) if row.key == ("rest", "left_stick"))
    cells = [next(iter(c.findChildren(QLabel)), c) for c in grid._parts[row][1:]]
    for cell in cells:
        cell.setFocus()
        qtbot.keyClick(cell, Qt.Key.Key_Return)
        desk.settle(room)
        assert room.view_name() == "evidence"
        assert room.evidence.result is not None
        wanted.append(room.evidence.result.id)
        room.show_view("bench")
    assert wanted == [r.id for r in results]


def test_what_a_certificate_will_declare_can_be_looked_at_first(room: MainWindow, desk: Workbench, press):
    desk.desk.settings.put("bench", "Mill Lane Repairs")
    desk.settle(room)
    press(room, Qt.Key.Key_C)
    panel = room.panel
    assert isinstance(panel, CertificatePanel)
    wanted = panel.list.options[panel.list.chosen]
    press(room, Qt.Key.Key_I)
    desk.settle(room)
    assert room.panel is None
    assert room.view_name() == "evidence"
    result = room.evidence.result
    assert result is not None
    assert result.assessment.outcome is Outcome.FAIL
    assert wanted == sentence_start(title_on(result.check, result.control, scenes.SHEET))
    assert not (desk.store.folder / "certificates").exists()


def test_what_ended_at_the_bench_opens_from_the_checklist(visit: MainWindow, desk: Workbench, qtbot):
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    card = visit.checklist.card
    lines = [w for w in card.before.findChildren(QLabel) if w.property("opens")] or [card.readings]
    assert lines[0].focusPolicy() == Qt.FocusPolicy.TabFocus
    lines[0].setFocus()
    qtbot.keyClick(lines[0], Qt.Key.Key_Return)
    desk.settle(visit)
    assert visit.view_name() == "evidence"
    assert visit.evidence.result is not None
    assert (visit.evidence.result.check, visit.evidence.result.control) == ("rest", "left_stick")


def _labels(room: MainWindow):
    return room.record.findChildren(QLabel)


def test_it_says_in_words_what_is_drawn(room: MainWindow, desk: Workbench):
    _open(room, desk, "sweep", "left_stick")
    view = room.evidence
    assert view.plots is not None
    told = view.plots.accessibleDescription()
    assert "slow sweep: fail" in told
    assert "Used by the measure" in told
    assert "spikes" in told
    assert view.plots.accessibleName()


def test_both_looks(room: MainWindow, desk: Workbench):
    _open(room, desk, "sweep", "left_stick", "spikes")
    plots = room.evidence.plots
    assert plots is not None
    for theme, look in (("light", LIGHT), ("dark", DARK)):
        room.set_theme(theme)
        assert _pixels(plots, TONES[0], look).any()


def test_opened_and_closed_two_hundred_times_under_forced_collection(room: MainWindow, desk: Workbench):
    """docs/decisions/time-plot.md: the plots are made once, kept and hidden."""
    gc.collect()
    gc.freeze()  # the collector walks through what is made from here on, all of the plots among it
    checks = (("sweep", "left_stick"), ("light", "key_15"), ("rest", "left_stick"))
    _open(room, desk, *checks[0])
    plots = room.evidence.plots
    assert plots is not None
    for k in range(200):
        room.rooms["evidence"].open_at(checks[k % 3])
        if k % 10 == 0:
            desk.settle(room)
            room.act("evidence.next_picture")
            QApplication.processEvents()
        gc.collect()
        room.show_view("bench")
    _open(room, desk, *checks[0])
    gc.unfreeze()
    assert room.evidence.plots is plots, "made once and kept"
    assert room.evidence.findChildren(Plots) == [plots]
    assert plots.isVisible()


def test_a_window_is_taken_apart_with_its_plots(qtbot, desk: Workbench):
    """Views are closed before what they show, and the collector finds nothing that it could free in the wrong order."""
    for _ in range(30):
        plots = Plots(LIGHT)
        plots.layout().setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
        plots.resize(400, 300)
        plots.show()
        plots.show_evidence(_evidence([_spiked(2000, 5)], lasted_ns=2000 * NS))
        plots.set_cursors(Cursors(0.01, 0.02), None)
        plots.grab()
        plots.close_plots()
        plots.deleteLater()
        gone = weakref.ref(plots)
        del plots
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        gc.collect()
        assert gone() is None, "something still holds them"
        QApplication.processEvents()
        gc.collect()


def test_the_try_before_is_laid_over_with_the_change_in_words(room: MainWindow, desk: Workbench, press):
    scenes.looked_at_again(desk)
    _open(room, desk, "rest", "left_stick")
    view = room.evidence
    press(room, Qt.Key.Key_L)
    assert isinstance(room.panel, LayOverPanel)
    press(room, Qt.Key.Key_Return)
    desk.settle(room)
    assert "Laid over it" in view.between.text()
    assert "off centre" in view.between.text()
    assert "→" in view.between.text()
    assert view.plots is not None
    view.plots.show_picture("time")
    assert (_pixels(view.plots, TONES[0], DARK)).any()
    part = view.plots.over_time()
    assert part is not None
    assert len(part._lines[1][0].getData()[0]) > 0
    press(room, Qt.Key.Key_L)
    assert "Laid over" not in view.between.text()
    assert len(part._lines[1][0].getData()[0]) == 0


def test_nothing_to_lay_over_is_said(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "rest", "left_stick")
    press(room, Qt.Key.Key_L)
    assert room.foot.message.text() == words.NOTHING_TO_LAY_OVER.format(model=scenes.LOOKED_AT.model)


def test_a_good_unit_of_the_model_is_laid_over(room: MainWindow, desk: Workbench, press):
    scenes.good_one_of_the_model(desk)
    scenes.looked_at_again(desk)
    _open(room, desk, "rest", "left_stick")
    view = room.evidence
    press(room, Qt.Key.Key_L)
    panel = room.panel
    assert isinstance(panel, LayOverPanel)
    assert len(panel.list.options) == 2
    assert scenes.GOOD_ONE.tag in panel.list.options[1]
    press(room, Qt.Key.Key_2)
    press(room, Qt.Key.Key_Return)
    desk.settle(room)
    assert f"{scenes.GOOD_ONE.tag}, which passed everything" in view.between.text()
    assert "there, 3.00" in view.between.text()
    assert view.plots is not None
    view.plots.show_picture("time")
    part = view.plots.over_time()
    assert part is not None
    assert len(part._lines[1][0].getData()[0]) > 0
    press(room, Qt.Key.Key_L)
    assert "Laid over" not in view.between.text()


def test_a_unit_of_the_model_that_failed_anything_is_not_offered(room: MainWindow, desk: Workbench, press):
    scenes.good_one_of_the_model(desk)
    good = desk.store.units_of_model(scenes.LOOKED_AT.model, 9)[0]
    visit = desk.store.start_visit(good.id, "intake")
    failed = Assessment(Outcome.FAIL)
    desk.store.add_result(Result("", visit.id, "look", "", 0, "", failed, by_hand=True, reason="cracked"))
    _open(room, desk, "rest", "left_stick")
    press(room, Qt.Key.Key_L)
    assert room.panel is None


def test_measured_again_beside_what_is_recorded(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "sweep", "left_stick")
    before = desk.store.history(scenes.LOOKED_AT.id)
    press(room, Qt.Key.Key_M)
    desk.settle(room)
    assert "the same in every reading" in room.evidence.between.text()
    assert desk.store.history(scenes.LOOKED_AT.id) == before


def test_one_key_writes_the_picture_and_its_numbers(room: MainWindow, desk: Workbench, press):
    _open(room, desk, "sweep", "left_stick", "spikes")
    press(room, Qt.Key.Key_G)
    desk.settle(room)
    folder = paths.pictures_folder()
    assert {p.suffix for p in folder.iterdir()} == {".png", ".svg", ".csv"}
    picture = QImage(str(next(folder.glob("*.png"))))
    assert picture.width() >= 2 * room.evidence.plots.width()
    drawn = next(folder.glob("*.svg")).read_text("utf-8")
    assert "<image" not in drawn, "lines and dots, not a picture of them"
    assert drawn.count("<polyline") > 20
    rows = next(folder.glob("*.csv")).read_text("utf-8").splitlines()
    assert rows[0] == "what,unit,time_s,value"
    begin, end = room.evidence.plots.shown_s()
    times = [float(row.rsplit(",", 2)[1]) for row in rows[1:]]
    assert len(times) == pytest.approx(2 * 1000 * (end - begin), rel=0.05)
    assert min(times) >= begin - 0.002
    assert max(times) <= end
    assert str(folder) in room.foot.message.text()


# --- the course of a unit ------------------------------------------------------------------------------------


@pytest.fixture
def course(window: MainWindow, desk: Workbench, press) -> MainWindow:
    """The course of a unit with seven visits."""
    unit = long_course(desk.store, desk.clock.move, "Plover T2")
    window.resize(1600, 900)
    window.show()
    window.bench.open_unit(desk.store.unit(unit.id))
    desk.settle(window)
    _open(window, desk, "rest", "left_stick")
    press(window, Qt.Key.Key_C)
    QApplication.processEvents()
    return window


def test_the_course_by_one_key_and_back(course: MainWindow, press):
    view = course.evidence
    assert view.course.isVisible()
    assert not view.list.isVisible()
    assert "14.80 → 11.20 → 2.10" in view.course.held.text()
    assert "passes since “replace module”" in view.course.held.text()
    press(course, Qt.Key.Key_Escape)
    assert not view.course.isVisible()
    assert course.view_name() == "evidence"
    press(course, Qt.Key.Key_C)
    press(course, Qt.Key.Key_C)
    assert view.list.isVisible()
    press(course, Qt.Key.Key_Escape)
    assert course.view_name() == "bench"


def test_values_stand_where_their_axis_says(course: MainWindow):
    picture = course.evidence.course.picture
    points = picture.points()
    assert len(points) > 3
    low, high = picture.span()
    box = picture._box()
    image = picture.grab().toImage()
    for point, at in points:
        assert (box.bottom() - at.y()) / box.height() == pytest.approx((point.value - low) / (high - low))
        beside = QPoint(round(at.x()) + 5, round(at.y()) - 4)  # inside the shape, off what is cut out of it
        wanted = color(course.look.outcome(point.outcome))
        near = [image.pixelColor(beside + QPoint(dx, dy)) for dx in range(-9, 1) for dy in range(-2, 8)]
        assert wanted in near
    assert [at.x() for _, at in points] == sorted(at.x() for _, at in points)


def test_enter_on_a_reading_of_the_course_opens_its_reports(course: MainWindow, desk: Workbench, press):
    press(course, Qt.Key.Key_Return)
    desk.settle(course)
    view = course.evidence
    assert not view.course.isVisible()
    assert view.result is not None
    assert view.result.check == "rest"
    last = [r for r in desk.store.history(view.history.unit.id).results if r.check == "rest"][-1]
    assert view.result.id == last.id


def test_one_key_writes_the_course(course: MainWindow, desk: Workbench, press):
    press(course, Qt.Key.Key_G)
    desk.settle(course)
    files = {p.suffix: p for p in paths.pictures_folder().iterdir()}
    assert set(files) == {".png", ".svg", ".csv"}
    drawn = files[".svg"].read_text("utf-8")
    assert "replace module" in drawn
    assert drawn.count("<text") > len(COURSE)
    assert len(files[".csv"].read_text("utf-8-sig").splitlines()) == 1 + 2 * len(COURSE)
    assert not QImage(str(files[".png"])).isNull()


def test_without_a_reading_there_is_no_course(window: MainWindow, desk: Workbench, press):
    unit = desk.store.add_unit(scenes.GOOD_ONE)
    visit = desk.store.start_visit(unit.id, "intake")
    by_hand = Result("", visit.id, "look", "", 0, "", Assessment(Outcome.PASS), by_hand=True, reason="fine")
    desk.store.add_result(by_hand)
    window.bench.open_unit(unit)
    desk.settle(window)
    _open(window, desk, "look", "")
    press(window, Qt.Key.Key_C)
    assert window.foot.message.text() == words.NO_COURSE
    assert window.evidence.course.isHidden()


def test_left_and_right_move_a_course_of_many_visits(course: MainWindow, press):
    course.resize(1000, 700)
    QApplication.processEvents()
    bar = course.evidence.course.bar
    assert bar.value() == bar.maximum() > 0, "the newest visits are in sight"
    press(course, Qt.Key.Key_Left)
    assert bar.value() < bar.maximum()
    press(course, Qt.Key.Key_Right)
    assert bar.value() == bar.maximum()


@pytest.mark.parametrize("size", [(1280, 720), (1000, 700)])
def test_the_axis_and_all_words_of_the_course_are_whole_wherever_one_is(course: MainWindow, press, size):
    """The axis stands at the left edge with its unit, and no word begins or ends outside the picture."""
    course.resize(*size)
    QApplication.processEvents()
    picture = course.evidence.course.picture
    seen = set[int]()
    for _ in range(len(COURSE)):
        slots, box = picture._slots(), picture._box()
        assert picture.visibleRegion().boundingRect().width() == picture.width()
        assert all(box.left() <= s.left < s.right <= picture.width() for s in slots)
        metrics = QFontMetricsF(course.look.font(13))
        assert all(metrics.horizontalAdvance(w) <= s.right - s.left for s in slots for w in s.text.split(" "))
        image = picture.grab().toImage()
        ground = color(course.look.pane)
        axis = [image.pixelColor(x, y) != ground for x in range(int(box.left()) - 6) for y in range(image.height())]
        assert sum(axis) > 200, "figures stand at the axis"
        seen |= set(picture.shown())
        press(course, Qt.Key.Key_Left)
    assert seen == set(range(len(COURSE)))


# --- frozen while a check runs -------------------------------------------------------------------------------


def _wander(desk: Workbench, seconds: float) -> None:
    """The stick goes out and back, a report each 10 ms."""
    count = round(seconds * 100)
    t = desk.now_ns + np.arange(1, count + 1) * 10 * MS
    desk.feed(left_stick=stick(t, 40.0 * np.sin(np.arange(count) / 40.0), np.zeros(count)))
    desk.advance(10.0 * count)


def test_one_key_freezes_what_came_while_the_check_goes_on(visit: MainWindow, desk: Workbench, press):
    press(visit, Qt.Key.Key_I, Qt.KeyboardModifier.ShiftModifier)
    assert visit.foot.message.text() == words.NOTHING_RUNS
    desk.run("sweep", "left_stick")
    _wander(desk, 4.0)
    visit.tick()
    before = desk.store.history(visit.shown.session.unit.id)
    press(visit, Qt.Key.Key_I, Qt.KeyboardModifier.ShiftModifier)
    desk.settle(visit)
    view = visit.evidence
    assert visit.view_name() == "evidence"
    assert view.evidence is not None
    assert "frozen" in view.said.text()
    view.plots.show_picture("time")
    axis = view.plots.over_time().values.item.getAxis("bottom")
    assert axis.labelText == words.FROZEN_AXIS, "its nought is not where the check began"
    assert desk.session().running, "the check goes on"
    line = view.evidence.over_time.lines[0]
    assert line.values.max() == pytest.approx(40.0, abs=0.1)
    assert line.values.min() == pytest.approx(-40.0, abs=0.1)
    assert (view.evidence.end_ns - view.evidence.begin_ns) / 1e9 == pytest.approx(4.0, abs=0.5)
    assert desk.store.history(visit.shown.session.unit.id) == before
    for key in (Qt.Key.Key_M, Qt.Key.Key_L):
        press(visit, key)
        assert visit.foot.message.text() == words.FROZEN_ALONE
    assert visit.panel is None


def test_no_more_than_the_last_thirty_seconds_are_frozen(visit: MainWindow, desk: Workbench, press):
    desk.run("sweep", "left_stick")
    _wander(desk, 36.0)
    visit.act("evidence.freeze")
    desk.settle(visit)
    evidence = visit.evidence.evidence
    assert evidence is not None
    assert (evidence.end_ns - evidence.begin_ns) / 1e9 == pytest.approx(30.0, abs=0.1)


def test_what_was_recorded_is_shown_after_what_was_frozen(visit: MainWindow, desk: Workbench, press):
    desk.rest_at("left_stick", 14.8)
    desk.settle(visit)
    desk.run("sweep", "left_stick")
    _wander(desk, 1.0)
    visit.act("evidence.freeze")
    desk.settle(visit)
    view = visit.evidence
    assert view.frozen
    view.list.choose(0)
    press(visit, Qt.Key.Key_Return)
    desk.settle(visit)
    assert not view.frozen
    assert view.result is not None
    assert view.result.check == "rest"
    view.plots.show_picture("time")
    assert view.plots.over_time().values.item.getAxis("bottom").labelText == words.TIME_AXIS
