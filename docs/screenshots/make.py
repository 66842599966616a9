"""Makes the screenshots of the docs. Run: python docs/screenshots/make.py [--only NAME] [--folder F]

Every picture is the real program on sample units: records, visits, readings and advice are computed here, on a clock
that this script moves, and drawn without a display. Every picture in both looks, at 1280 × 720 and 1920 × 1080;
some minutes on two cores. One that cannot be drawn does not stop the others; the script then ends with status 1.
"""

from __future__ import annotations

import argparse
import atexit
import os
import shutil
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["TZ"] = "UTC"
if hasattr(time, "tzset"):
    time.tzset()
HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))

from PySide6.QtGui import QImage  # noqa: E402

from station import SAMPLE_UNITS  # noqa: E402
from station.app.desk import StationDesk  # noqa: E402
from station.app.opening import RULES, open_records  # noqa: E402
from station.app.samples import DEMO_LOT, demo_unit, sample_tags, work_through  # noqa: E402
from station.bench.types import Choose, Go  # noqa: E402
from station.evidence.assess import assess_file  # noqa: E402
from station.records.store import open_store  # noqa: E402
from station.records.types import Result, Treatment  # noqa: E402
from station.sources.port import Source  # noqa: E402
from station.sources.simulated.samples import sample, sample_hand  # noqa: E402
from station.sources.simulated.source import SimulatedSource  # noqa: E402
from station.ui.panels.labels import LabelPanel  # noqa: E402
from station.ui.panels.settings import SettingsPanel  # noqa: E402
from station.ui.sound import Sound  # noqa: E402
from station.ui.start import make_app  # noqa: E402
from station.ui.window import MainWindow  # noqa: E402
from tests.app.taught_pad import PadSource, steady_pad  # noqa: E402
from tests.lots.made_shop import fill_shop, long_course  # noqa: E402
from tests.records.records_kit import HandClock  # noqa: E402

STEP_S = 0.02
Scene = Callable[["Station"], None]
DRIFTS, SOUND_THERE = "SM-07-11", "SM-07-07"
"""two units of one model: the left stick of one rests off centre, that of the other is sound"""
SOUND, WEAK_SHOULDER, NOISY, SHORT_REACH = "SM-07-01", "SM-07-06", "SM-07-03", "SM-07-04"


class Station:
    """Records in a folder of their own, the desk, and the window at one size and theme."""

    def __init__(self, folder: str, theme: str, size: tuple[int, int]) -> None:
        os.environ["RESTPOINT_DATA"] = folder
        self._open: Callable[[str], Source] = _on_a_clock_moved_by_hand
        self.store = open_records()
        self.desk = StationDesk(self.store, watch=False, plug_in_sample=lambda tag: self._open(tag))
        self.window = MainWindow(self.desk, theme, Sound({}))
        self.window.stop_clock()
        self.window.resize(*size)
        self.window.show()

    def write_up(self) -> None:
        """The demo lot with all its units."""
        lot = self.store.add_lot(DEMO_LOT)
        for tag in sample_tags():
            self.store.add_unit(replace(demo_unit(tag), lot_id=lot.id))

    def unit(self, tag: str):
        return next(u for u in self.store.units(tag) if u.tag == tag)

    def plug(self, source: Source) -> None:
        """Plug in something else than a sample unit."""
        self._open = lambda _tag: source
        self.desk.devices.plug_in_sample("")
        self.settle()

    def settle(self) -> None:
        """Let the desk's work, one frame and Qt's layouts happen."""
        for _ in range(3):
            self.desk.settle()
            self.window.tick()
            make_app().processEvents()

    def let_pass(self, seconds: float) -> None:
        """Time at the bench."""
        for k in range(round(seconds / STEP_S)):
            self.desk.advance(STEP_S)
            self.desk.live.follow()
            if k % 5 == 0:
                self.window.tick()

    def start(self, tag: str, kind: str, check: str, control: str) -> None:
        """Plug the unit in, begin its visit and start one check."""
        self.desk.devices.plug_in_sample(tag)
        self.settle()
        self.desk.visit.start(self.unit(tag).id, self.desk.devices.devices()[0], kind)
        self.settle()
        self.window.arrival.dismiss()
        self.run(check, control)

    def run(self, check: str, control: str) -> None:
        """Make a check the current one and start it."""
        session = self.desk.visit.session()
        assert session is not None
        steps = [(v.step.check, v.step.control) for v in session.steps]
        self.desk.visit.do(Choose(steps.index((check, control))))
        self.let_pass(0.1)
        self.desk.visit.do(Go())

    def until_over(self, longest_s: float = 60) -> None:
        """Let the running check come to its end."""
        for _ in range(round(longest_s)):
            self.let_pass(1.0)
            session = self.desk.visit.session()
            if session is None or not session.running:
                return

    def shoot(self, file: Path) -> None:
        self.settle()
        self.window._last_tick = None
        self.window._late.clear()
        self.window._ticks = 0
        self.settle()
        small(self.window.grab().toImage()).save(str(file), "PNG", 0)
        print(file, flush=True)


def small(image: QImage) -> QImage:
    """The picture in the 256 colours that it has most of, each other one as the nearest of them: shades at the edges
    of letters, which nobody can tell apart; its file is a third as large."""
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    tall, wide = image.height(), image.width()
    pixels = np.frombuffer(image.constBits(), dtype=np.uint32).reshape(tall, image.bytesPerLine() // 4)[:, :wide]
    colors, which, count = np.unique(pixels, return_inverse=True, return_counts=True)
    kept = np.sort(np.argsort(-count, kind="stable")[:256])
    parts = np.column_stack([(colors >> shift) & 255 for shift in (0, 8, 16)]).astype(np.int32)
    nearest = [int(np.argmin(((parts[kept] - part) ** 2).sum(axis=1))) for part in parts]
    index = np.array(nearest, dtype=np.uint8)[which.reshape(tall, wide)]
    made = QImage(index.tobytes(), wide, tall, wide, QImage.Format.Format_Indexed8)
    made.setColorTable([int(c) | 0xFF000000 for c in colors[kept]])
    return made.copy()


def _on_a_clock_moved_by_hand(tag: str) -> SimulatedSource:
    found = sample(tag)
    return SimulatedSource(found.spec, sample_hand(found), realtime=False)


def light_press(station: Station) -> None:
    """A weak contact, cleaned once, at its second visit: light presses fail again, firm ones follow."""
    station.write_up()
    unit = station.unit(WEAK_SHOULDER)
    work_through(station.store, unit)
    station.store.add_treatment(
        Treatment(
            "", unit.id, "clean from outside", _now(), part="", minutes=4, materials="isopropyl alcohol", cost_minor=20
        )
    )
    station.start(WEAK_SHOULDER, "after treatment", "contact", "left_shoulder")
    station.until_over()
    station.run("light", "left_shoulder")
    station.until_over()
    station.run("firm_press", "left_shoulder")
    station.let_pass(9.3)


def slow_sweep(station: Station) -> None:
    """A noisy track, seen in the time plot."""
    station.write_up()
    station.start(NOISY, "intake", "rest", "right_stick")
    station.until_over()
    station.run("sweep", "right_stick")
    station.let_pass(11.0)


def round_the_rim(station: Station) -> None:
    """A stick that does not reach all of its rim."""
    station.write_up()
    station.start(SHORT_REACH, "intake", "rest", "left_stick")
    station.until_over()
    station.run("letgo", "left_stick")
    station.until_over()
    station.run("rim", "left_stick")
    station.let_pass(4.0)


def plugged_in(station: Station) -> None:
    """A unit that is plugged in for the first time."""
    station.write_up()
    station.desk.devices.plug_in_sample(NOISY)
    station.settle()
    station.let_pass(1.0)


def recorded_visit(station: Station, tag: str, kind: str, control: str = "") -> None:
    """A finished visit with what the unit's capture holds, measured here; of one control, or of all."""
    visit = station.store.start_visit(station.unit(tag).id, kind)
    for done in assess_file(SAMPLE_UNITS / f"{tag}.npz").checks:
        if not control or done.control == control:
            station.store.add_result(Result("", visit.id, done.check, done.control, 0, "", done.assessment))
    station.store.finish_visit(visit.id)


def lots(station: Station) -> None:
    """A lot in work: all units but one tested, one sold, one cleaned in vain."""
    station.write_up()
    for tag in sample_tags()[:-1]:
        unit = station.unit(tag)
        station.store.change_unit(replace(unit, sheet=unit.model))
        recorded_visit(station, tag, "intake")
    cleaned = Treatment(
        "", station.unit(NOISY).id, "clean the sensor", "", "Right stick sensor, horizontal", 9, cost_minor=40
    )
    station.store.add_treatment(cleaned)
    recorded_visit(station, NOISY, "after treatment", "right_stick")
    station.store.change_unit(replace(station.unit(SOUND), becomes="sold", sold_minor=2900))
    station.window.act("view.lots")
    station.settle()
    station.window.lots.show_page()


def plan(station: Station) -> None:
    """What to do with each unit of the lot."""
    lots(station)
    station.window.act("lots.plan")
    station.settle()


def donor(station: Station) -> None:
    """A unit is given up for parts."""
    lots(station)
    station.window.lots.page.donors.setFocus()
    station.window.act("lots.give_up")


def treatment(station: Station) -> None:
    """A treatment is logged, its caution in sight."""
    light_press(station)
    station.window.act("record.treatment")


def _taught(station: Station, state: str, number: int = 0, *, passed_s: float = 0.0) -> None:
    """A made-up pad in a made-up hand, as far as that step or state of its lesson."""
    source = PadSource(steady_pad(9001, descriptor="right"), name="Two-stick pad")
    station.plug(source)
    station.desk.teaching.begin(source.info, {"paddles": 4}, go_on=False)
    station.settle()
    for _ in range(20_000):
        view = station.desk.teaching.lesson()
        assert view is not None
        over = view.step is not None and view.step.seconds - view.left_s >= passed_s
        if view.state == state and (not number or (view.number == number and over)):
            return
        source.follow(view)
        station.let_pass(STEP_S)
        if view.state == "learning":
            station.settle()
    raise AssertionError(f"the lesson never came to {state}")


def teaching(station: Station) -> None:
    """An unknown pad is taught: the stick is being rolled around."""
    _taught(station, "walking", 4, passed_s=3.0)


def taught(station: Station) -> None:
    """What was learned of it."""
    _taught(station, "answering")


def settings(station: Station) -> None:
    """All that a shop can set, some of it its own, one price being changed."""
    station.write_up()
    for key, value in (("bench", "Mill Lane Repairs"), ("hour_minor", "2150"), ("ready_minor.fair", "2400")):
        station.store.set_setting(key, value)
    station.window.act("settings.open")
    station.settle()
    opened = station.window.panel
    assert isinstance(opened, SettingsPanel)
    opened.rows["price.ready"].setFocus()
    opened.accept()


def lot_labels(station: Station) -> None:
    """Labels for a whole lot, on a sheet of which some are gone."""
    lots(station)
    station.window.act("labels.of_lot")
    panel = station.window.panel
    assert isinstance(panel, LabelPanel)
    panel.start.setText("5")


def empty(station: Station) -> None:
    """First run."""


def with_reports(station: Station, tag: str, kind: str, but: str = "") -> None:
    """A finished visit whose results keep the unit's capture; `but`: another unit's capture is read."""
    path = SAMPLE_UNITS / f"{but or tag}.npz"
    unit = station.unit(tag)
    station.store.change_unit(replace(unit, sheet=unit.model))
    sha256 = station.store.keep_capture(path.read_bytes())
    visit = station.store.start_visit(unit.id, kind)
    for done in assess_file(path).checks:
        station.store.add_result(Result("", visit.id, done.check, done.control, 0, "", done.assessment, sha256))
    station.store.finish_visit(visit.id)


def evidence(name: str, tag: str, check: str, control: str, finding: str = "", picture: str = "") -> Scene:
    """What lies behind a result of a sample unit."""

    def show(station: Station) -> None:
        station.write_up()
        with_reports(station, tag, "intake")
        _look_at(station, tag, check, control, finding, picture)

    show.__name__ = f"evidence_{name}"
    return show


def _look_at(station: Station, tag: str, check: str, control: str, finding: str = "", picture: str = "") -> None:
    station.window.bench.open_unit(station.unit(tag))
    station.settle()
    station.window.rooms["evidence"].open_at((check, control), finding)  # type: ignore[attr-defined]
    station.settle()
    view = station.window.evidence
    for _ in range(9):
        if not picture or view.plots is None or view.plots.picture == picture:
            break
        station.window.act("evidence.next_picture")
    station.settle()


def before_and_after(station: Station) -> None:
    """A stick that was cleaned: where it rested before lies over where it rests since."""
    station.write_up()
    with_reports(station, DRIFTS, "intake")
    cleaned = Treatment("", station.unit(DRIFTS).id, "clean the sensor", "", "Left stick sensor", 9, cost_minor=40)
    station.store.add_treatment(cleaned)
    with_reports(station, DRIFTS, "after treatment", but=SOUND_THERE)
    _look_at(station, DRIFTS, "rest", "left_stick", picture="cloud")
    station.window.act("evidence.lay_over")
    station.settle()
    assert station.window.panel is not None
    station.window.panel.accept()


def course(station: Station) -> None:
    """A unit over its visits, its first cure in vain."""
    clock = HandClock(_now())
    station.store._clock = clock  # days pass
    unit = long_course(station.store, clock.move, demo_unit(SOUND).model)
    station.window.bench.open_unit(station.store.unit(unit.id))
    station.settle()
    station.window.rooms["evidence"].open_at(("rest", "left_stick"))  # type: ignore[attr-defined]
    station.settle()
    station.window.act("evidence.course")


def figures(name: str) -> Scene:
    """A table of the shop's figures, on a made history of 300 units."""

    def show(station: Station) -> None:
        station.window.bench.open_unit(station.store.units()[40])
        station.settle()
        station.window.act("view.figures")
        station.settle()
        station.window.act(f"figures.{name}")

    show.__name__ = f"figures_{name}"
    return show


@cache
def _made_shop() -> str:
    """Records of such a history, made once."""
    folder = tempfile.mkdtemp(prefix="made-shop-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    clock = HandClock(_now())
    with open_store(Path(folder), RULES, clock=clock) as store:
        fill_shop(store, clock.move)
    return folder


def view(name: str) -> Callable[[Station], None]:
    """One of the other views, with the lot in work."""

    def show(station: Station) -> None:
        lots(station)
        station.window.act(f"view.{name}")

    show.__name__ = name
    return show


def panel(action: str) -> Callable[[Station], None]:
    """The panel of a key, over the visit of the weak contact."""

    def show(station: Station) -> None:
        light_press(station)
        station.window.act(action)

    show.__name__ = action.partition(".")[2]
    return show


PANELS = (
    *("record.note", "record.edit", "visit.mark", "visit.skip", "visit.finish", "visit.strength"),
    *("window.keys", "window.backups", "alone.leave", "bench.sample", "bench.find", "undo.withdraw", "undo.correct"),
)


FIGURES = ("came", "claims", "faults", "cures", "money", "standing")
EVIDENCE = (
    ("codes", NOISY, "sweep", "right_stick"),
    ("time", NOISY, "sweep", "right_stick", "spikes"),
    ("contacts", WEAK_SHOULDER, "light", "left_shoulder"),
    ("path", SHORT_REACH, "rim", "left_stick", "", "path"),
    ("rest", SOUND, "rest", "left_stick", "", "cloud"),
    ("intervals", SOUND, "link", "", "", "intervals"),
)

PICTURES: dict[str, Callable[[Station], None]] = {
    f.__name__: f
    for f in (
        *(evidence(*told) for told in EVIDENCE),
        *(before_and_after, course),
        *(figures(name) for name in FIGURES),
        *(
            light_press,
            slow_sweep,
            round_the_rim,
            plugged_in,
            lots,
            donor,
            plan,
            lot_labels,
            settings,
            treatment,
            teaching,
            taught,
            empty,
        ),
        *(view("shelf"), view("due")),
        *(panel(action) for action in PANELS),
    )
}
THEMES, SIZES = ("light", "dark"), ((1280, 720), (1920, 1080))
PAGES, WIDE = ("genuine", "unknown", "altered"), ((390, 844), (1280, 720), (1920, 1080))
"""the page for buyers: what it says, on a telephone and on computers"""
IN_THE_DOCS = (("light_press", "light", (1600, 900)), ("light_press", "dark", (1600, 900)))
"""beside every picture in both looks and both sizes: those that the docs show at another size"""
SHOTS = (*IN_THE_DOCS, *((name, theme, size) for name in PICTURES for theme in THEMES for size in SIZES))


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def main() -> None:
    """Draw all pictures, or those asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=HERE)
    parser.add_argument("--only", action="append", choices=[*PICTURES, "check"])
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    make_app([])
    wrong = 0
    for name, theme, size in SHOTS:
        if asked.only and name not in asked.only:
            continue
        file = asked.folder / f"{name.replace('_', '-')}-{theme}-{size[0]}.png"
        try:
            _shoot(name, theme, size, file)
        except Exception:  # noqa: BLE001 - a picture may fail in any way
            # the others are drawn all the same; what went wrong is told, and the end says that something did
            traceback.print_exc()
            print(f"{file.name} was not drawn", flush=True)
            wrong += 1
    if not asked.only or "check" in asked.only:
        wrong += shoot_page(asked.folder)
    sys.exit(1 if wrong else 0)


def shoot_page(folder: Path) -> int:
    """The page for buyers in a browser, with files of this computer's making; returns how many could not be drawn."""
    from tests.certificate import browser, signed

    if browser.BROWSER is None:
        print("chromium is not installed: the pictures of the page for buyers were not drawn", flush=True)
        return len(PAGES) * len(THEMES) * len(WIDE)
    whole, mine = signed.signed_pdf(), signed.KEY.fingerprint
    pages = {"genuine": (whole, mine), "unknown": (whole, ""), "altered": (whole + b"\n", mine)}
    with browser.started() as running:
        for name, theme, (wide, tall) in product(PAGES, THEMES, WIDE):
            data, told = pages[name]
            with browser.opened(running, scheme=theme, width=wide, height=tall) as page:
                page.locator("#told").fill(told)
                page.set_input_files("#file", {"name": "a.pdf", "mimeType": "application/pdf", "buffer": data})
                page.get_by_role("status").get_by_text(name, exact=False).first.wait_for()
                file = folder / f"check-{name}-{theme}-{wide}.png"
                page.screenshot(path=str(file))
                print(file, flush=True)
    return 0


def _shoot(name: str, theme: str, size: tuple[int, int], file: Path) -> None:
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        if name.startswith("figures_"):
            shutil.copytree(_made_shop(), folder, dirs_exist_ok=True)
        station = Station(folder, theme, size)
        try:
            PICTURES[name](station)
            station.shoot(file)
        finally:
            station.window.close()


if __name__ == "__main__":
    main()
