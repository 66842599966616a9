"""The program in a language that puts every text of the catalogue in brackets, and a walk through its window.

Run as `python -m tests.words.pseudo FOLDER`, in a process of its own: words must be replaced before the rest is
imported. It prints one JSON object: `texts`, every text that came to be read with where it was first seen, and `data`,
the names and words that are no part of the catalogue: what a person typed, the names in sheets and in the fault guide,
keys and units.
"""

from __future__ import annotations

import getpass
import json
import os
import platform
import re
import sys
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from station import RESOURCES, SAMPLE_UNITS
from station.words import language

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from station.app.desk import StationDesk
    from station.records.store import Store
    from station.records.types import Unit
    from station.ui.window import MainWindow
    from tests.app.taught_pad import PadSource

OPEN, CLOSE = "⟦", "⟧"
STEP_S = 0.02
TAG, OTHER_TAG, TYPED = "SM-07-06", "SM-07-09", "Qwertz"
"""two sample units, and what the person types wherever something is to be typed"""


def bracketed(value: object) -> object:
    """The same with each text that has letters in brackets."""
    if isinstance(value, str):
        return f"{OPEN}{value}{CLOSE}" if re.search(r"[^\W\d_]", re.sub(r"{[^{}]*}", "", value)) else value
    if isinstance(value, Mapping):
        return {key: bracketed(inner) for key, inner in value.items()}
    return tuple(bracketed(inner) for inner in value) if isinstance(value, tuple) else value


def speak_in_brackets() -> None:
    """In the place of English; before anything else of the program is imported."""
    for name in language.catalogue():
        words = language.constants(import_module(f"station.words.{name}"))
        language.put(name, {word: bracketed(value) for word, value in words.items()})


# --- what can be read ---------------------------------------------------------------------------------


class Reader:
    """Collects what the window shows, says to a screen reader, and draws."""

    def __init__(self) -> None:
        self.texts: dict[str, str] = {}
        self.place = ""
        self._watch_painters()

    def note(self, text: object, where: str) -> None:
        from PySide6.QtGui import QTextDocumentFragment

        if isinstance(text, str) and text.strip():
            rich = re.search(r"</?[a-z]+[^<>]*>", text)
            plain = QTextDocumentFragment.fromHtml(text).toPlainText() if rich else text
            self.texts.setdefault(plain, f"{self.place}: {where}")

    def _watch_painters(self) -> None:
        from PySide6.QtGui import QPainter

        really = QPainter.drawText

        def draw_text(painter: QPainter, *given: Any) -> Any:
            for one in given:
                self.note(one, "drawn")
            return really(painter, *given)

        QPainter.drawText = draw_text

    def read(self, place: str, window: MainWindow) -> None:
        """Everything that is there now."""
        from PySide6.QtWidgets import QApplication

        self.place = place
        window.tick()
        QApplication.processEvents()
        window.grab()
        for widget in QApplication.allWidgets():
            if widget.isVisible():
                for text in told_by(widget):
                    self.note(text, f"{type(widget).__name__} {widget.objectName()}".strip())


def told_by(widget: QWidget) -> Iterator[object]:
    """The texts of a widget: its own, those beside it for the mouse and the screen reader, and those of its rows."""
    from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QComboBox, QGroupBox, QLabel, QLineEdit

    yield from (widget.toolTip(), widget.statusTip(), widget.whatsThis())
    yield from (widget.accessibleName(), widget.accessibleDescription())
    if widget.isWindow():
        yield widget.windowTitle()
    if isinstance(widget, QLabel | QAbstractButton):
        yield widget.text()
    if isinstance(widget, QGroupBox):
        yield widget.title()
    if isinstance(widget, QLineEdit):
        yield widget.placeholderText()
    if isinstance(widget, QComboBox | QAbstractItemView) and widget.model() is not None:
        yield from rows_of(widget.model())


def rows_of(model: Any) -> Iterator[object]:
    """What a model has to say of its rows and columns."""
    from PySide6.QtCore import QAbstractListModel, QModelIndex, Qt

    roles, nowhere = Qt.ItemDataRole, QModelIndex()
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(nowhere)
    for column in range(columns):
        yield model.headerData(column, Qt.Orientation.Horizontal, roles.DisplayRole)
    for row in range(model.rowCount(nowhere)):
        for column in range(columns):
            cell = model.index(row, column)
            for role in (
                roles.DisplayRole, roles.ToolTipRole, roles.AccessibleTextRole, roles.AccessibleDescriptionRole,
            ):  # fmt: skip
                yield model.data(cell, role)


# --- the walk -----------------------------------------------------------------------------------------


class Walker:
    """The window on the real desk; `plug` makes what is plugged in, and time is moved by hand."""

    def __init__(self, reader: Reader, store: Store, plug: Callable[[str], Any]) -> None:
        from station.app.desk import StationDesk
        from station.ui.sound import Sound
        from station.ui.window import MainWindow

        self.reader, self.store = reader, store
        self.desk: StationDesk = StationDesk(store, watch=False, plug_in_sample=plug)
        self.window = MainWindow(self.desk, "light", Sound({}))
        self.window.stop_clock()
        self.window.resize(1440, 860)
        self.window.show()

    def settle(self) -> None:
        for _ in range(3):
            self.desk.settle()
            self.window.tick()

    def let_pass(self, seconds: float) -> None:
        for _ in range(round(seconds / STEP_S)):
            self.desk.advance(STEP_S)
            self.desk.live.follow()
        self.settle()

    def read(self, place: str) -> None:
        self.settle()
        self.reader.read(place, self.window)

    def act(self, place: str, action: str) -> None:
        """What a key does; the panel that it opens is read, written into, read again and put away."""
        self.window.act(action)
        self.read(f"{place}, {action}")
        if self.window.panel is not None:
            self.window.panel.close_panel()
            self.settle()

    def keys_of(self, where: str, leave_out: tuple[str, ...] = ()) -> None:
        from station.ui.keys import KEYS

        for line in KEYS:
            if line.where == where and line.action not in leave_out:
                self.act(where, line.action)


def with_a_past(store: Store) -> tuple[Unit, Unit]:
    """Two units of the demo lot, one of them worked through and treated; a part of the other lies on the shelf."""
    from station.app.samples import DEMO_LOT, demo_unit, work_through
    from station.records.types import ShelfPart, Treatment

    lot = store.add_lot(replace(DEMO_LOT, seller=TYPED, note=TYPED))
    unit, other = (store.add_unit(replace(demo_unit(tag), lot_id=lot.id, condition=TYPED)) for tag in (TAG, OTHER_TAG))
    work_through(store, unit)
    store.add_treatment(Treatment("", unit.id, "clean from outside", store.now(), TYPED, minutes=9, cost_minor=40))
    store.add_shelf_part(ShelfPart("", TYPED, unit.model, count=1, source_unit_id=other.id))
    return unit, other


def see_views(walker: Walker) -> None:
    """The empty bench, the keys that count everywhere, and each other view with all its keys."""
    walker.read("empty bench")
    walker.keys_of("everywhere", ("window.escape",))
    for name in ("lots", "shelf", "due"):
        walker.window.show_view(name)  # type: ignore[arg-type]
        walker.read(name)
        walker.keys_of(name)
    walker.window.show_view("bench")


def see_a_visit(walker: Walker, unit: Unit) -> None:
    """Plug in, start, see each check run for a while; then every key of the bench."""
    from station.bench.types import Choose, Go

    desk = walker.desk
    desk.devices.plug_in_sample(unit.tag)
    walker.read("plugged in")
    desk.visit.start(unit.id, desk.devices.devices()[0], "intake")
    walker.settle()
    walker.window.arrival.dismiss()
    walker.read("visit")
    session = desk.visit.session()
    assert session is not None
    first = {view.step.check: k for k, view in reversed(list(enumerate(session.steps)))}
    for check, k in first.items():
        desk.visit.do(Choose(k))
        walker.let_pass(0.1)
        walker.read(f"chosen: {check}")
        desk.visit.do(Go())
        for seconds in (0.3, 2.0, 4.0):
            walker.let_pass(seconds)
            walker.read(f"running: {check}")
        if check == "light":
            walker.act("bench", "visit.strength")
    walker.let_pass(60.0)
    walker.read("after checks")
    walker.keys_of("bench", ("visit.finish",))
    walker.act("bench", "visit.finish")
    walker.let_pass(1.0)
    walker.read("visit finished")
    walker.store.set_setting("bench", TYPED)
    walker.window.act("record.write_certificate")
    walker.read("with a name of the shop, much is not tested: it asks first")
    if walker.window.panel is not None:
        walker.window.panel.accept()
    walker.let_pass(0.2)


def see_a_lesson(walker: Walker, source: PadSource) -> None:
    """A pad that no sheet describes is taught until it is learned, with a step left undone."""
    desk = walker.desk
    desk.devices.plug_in_sample("")
    walker.read("unknown pad")
    walker.act("bench", "teaching.begin")
    desk.teaching.begin(source.info, {}, go_on=False)
    source.clumsy.append("left_stick.push")
    read: set[tuple[str, str]] = set()
    for _ in range(20_000):
        walker.window.tick()
        if desk.visit.session() is None and desk.teaching.lesson() is None:
            desk.settle()
        view = desk.teaching.lesson()
        assert view is not None
        if view.state == "answering":
            break
        key = (view.state, view.step.action if view.step is not None else "")
        if key not in read:
            read.add(key)
            walker.read(f"lesson, {' '.join(key)}")
        source.follow(view)
        desk.advance(0.05)
        if view.state == "learning":
            desk.settle()
    walker.read("learned")
    walker.keys_of("teaching", ("teaching.stop",))
    walker.act("teaching", "teaching.stop")


def data_in(store: Store, *units: Unit) -> set[str]:
    """Names and words that are no part of the catalogue."""
    from station.app import paths
    from station.ui.keys import KEYS
    from station.words.grammar import sentence_start, spoken_name

    found = {TYPED, TAG, OTHER_TAG, "SM-07", getpass.getuser(), platform.node(), str(store.folder)}
    found |= {line.key for line in KEYS}
    found |= {str(path) for path in paths.certificates_folder().iterdir()}
    for sheet in SAMPLE_UNITS.glob("*.toml"):
        table = tomllib.loads(sheet.read_text(encoding="utf-8"))
        found |= {*named_in(table), *(ask["text"] for ask in table.get("ask", ()))}
        found |= {spoken_name(control["name"]) for control in table["control"]}
        by_id = [control["id"].replace("_", " ") for control in table["control"]]  # as the log calls them
        found |= {*by_id, *map(sentence_start, by_id)}
    guide = tomllib.loads((RESOURCES / "fault_guide.toml").read_text(encoding="utf-8"))
    said = [one[when] for one in guide["hazard"] for when in ("sign", "stop", "before", "during")]
    found |= {*named_in(guide), *said, guide["work"]["currency"]}
    found |= set(named_in(tomllib.loads((RESOURCES / "labels.toml").read_text(encoding="utf-8"))))
    for unit in units:
        results = store.history(unit.id).results
        found |= {reading.unit for result in results for reading in result.assessment.readings}
    return {text for text in found if text}


def named_in(value: object) -> Iterator[str]:
    """The names and titles in a TOML document."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key in ("name", "title") and isinstance(inner, str):
                yield inner
            else:
                yield from named_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from named_in(inner)


def main() -> int:
    """See above. `argv[1]`: a folder for the records."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    os.environ["RESTPOINT_DATA"] = sys.argv[1]
    speak_in_brackets()
    from station.app.opening import open_records
    from station.sources.simulated.samples import sample, sample_hand
    from station.sources.simulated.source import SimulatedSource
    from station.ui.start import make_app
    from tests.app.taught_pad import PadSource, steady_pad

    app = make_app()
    reader = Reader()
    store = open_records()
    unit, other = with_a_past(store)

    def plug(tag: str) -> SimulatedSource:
        return SimulatedSource(sample(tag).spec, sample_hand(sample(tag)), realtime=False)

    walker = Walker(reader, store, plug)
    see_views(walker)
    see_a_visit(walker, unit)
    data = data_in(store, unit, other)
    walker.window.close()

    os.environ["RESTPOINT_DATA"] = str(Path(sys.argv[1]) / "lesson")
    pad = PadSource(steady_pad(9001, descriptor="right"), name=TYPED)
    walker = Walker(reader, open_records(), lambda _: pad)
    see_a_lesson(walker, pad)
    walker.window.close()
    del app
    json.dump({"texts": reader.texts, "data": sorted(data)}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
