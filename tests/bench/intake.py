"""How long does a lot of twelve units take to come in, and how many keys: from a spreadsheet, and by hand?

A person works the real window (offscreen) on real records by key presses alone, each of which is sent, counted and
timed by `keystrokes.py`. The person knows what is to be had and not which keys lead there: before each key it looks at
what the window shows, the view, the panel, the field that has the cursor and what stands in it, and takes the key of
the table of keys for what it wants. A field that holds the right thing is left alone, another one is typed over. It
thinks before it accepts what is proposed, before it takes in what a preview shows, and before each claim; it begins
with the hand away from the keyboard. Finding the file, labels and packing are not in it.

The bars: from a spreadsheet 60 s and 8 keys; by hand 180 s with the claims' words, and 20 keys beside those. Timed
beside them, without a bar: the same where the price of the lot has to be typed, and by hand where the model is another
one than that of the lot before. The units that came in are compared with the list; exit status 1 where one is otherwise
or a bar is missed. The last line is one JSON object.

    .venv/bin/python tests/bench/intake.py
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "ui"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import openpyxl
from keystrokes import H_S, K_S, begins_s
from pad import plover
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QWidget
from workbench import Workbench

from station.app import paths
from station.app.incoming import FOLDER
from station.app.shelf_of_sheets import SheetShelf
from station.records.types import Lot, Unit
from station.ui.keys import KEYS
from station.ui.panels.incoming import FilePanel, PreviewPanel, QuickPanel
from station.ui.panels.stock import LotPanel
from station.ui.sound import Sound
from station.ui.start import make_app
from station.ui.window import MainWindow

BARS = {"import_s": 60.0, "import_keys": 8, "hand_s": 180.0, "hand_keys": 20}
MODEL, OTHER = "Plover T2", "Dabchick 3"
LOT = "SM-08"
CLAIMS = (
    "left stick drifts", "ls dr", "the south button sticks", "right trigger does nothing", "rattles", "rs dr",
    "left stick drifts upwards", "turns itself off", "hat: up is dead", "left trigger squeaks", "", "not tested",
)  # fmt: skip
"""what the seller says; one of them nothing"""
READ_AS = {"ls dr": "Left stick drifts", "rs dr": "Right stick drifts"}
TAGS = tuple(f"{LOT}-{k:02}" for k in range(1, 13))
MOST_KEYS = 400
"""a person who needs more is lost"""


@dataclass
class Person:
    """Presses keys in the window. `keys`: those pressed; `letters`: those of the claims' words; `seconds`: of all."""

    window: MainWindow
    desk: Workbench
    keys: int = 0
    letters: int = 0
    seconds: float = H_S
    pressed: list[str] = field(default_factory=list)

    def press(self, key: Qt.Key, *, thinks: bool = False, held: Qt.KeyboardModifier | None = None) -> None:
        """A key that does something in the window, once what came of the one before was seen."""
        self._send(key, held)
        self.keys += 1
        self.seconds += begins_s(thinks=thinks) + K_S
        self.pressed.append(key.name.removeprefix("Key_"))

    def act(self, action: str) -> None:
        """The key for it, by the table."""
        line = next(line for line in KEYS if line.action == action)
        self.press(Qt.Key[f"Key_{line.key}"])

    def type(self, text: str, *, claim: bool = False) -> None:
        """A text, letter by letter, over what is marked in the field."""
        self.seconds += begins_s(thinks=claim)
        for letter in text:
            QTest.keyClick(self._target(), letter)
            self.seconds += K_S
        self.desk.settle(self.window)
        if claim:
            self.letters += len(text)
        else:
            self.keys += len(text)
            self.pressed += list(text)

    def fill(self, wanted: str) -> None:
        """The field that has the cursor, where it holds something else."""
        line = self._target()
        assert isinstance(line, QLineEdit), line
        if line.text() == wanted:
            return
        if line.text() and line.selectedText() != line.text():
            self.press(Qt.Key.Key_A, held=Qt.KeyboardModifier.ControlModifier)
        self.type(wanted)

    def go_to(self, stop: QWidget) -> None:
        """Tab until the cursor is there, by the shorter way."""
        panel = self.window.panel
        assert panel is not None
        stops = panel._order
        ahead = (stops.index(stop) - stops.index(self._target())) % len(stops)
        back = ahead > len(stops) // 2
        for _ in range(len(stops) - ahead if back else ahead):
            if back:
                self.press(Qt.Key.Key_Backtab, held=Qt.KeyboardModifier.ShiftModifier)
            else:
                self.press(Qt.Key.Key_Tab)

    def _target(self) -> QWidget:
        return self.window.focusWidget() or self.window

    def _send(self, key: Qt.Key, held: Qt.KeyboardModifier | None) -> None:
        if self.keys + self.letters > MOST_KEYS:
            raise RuntimeError(f"the person is lost: {' '.join(self.pressed[-20:])}; {self.window.foot.text()}")
        QTest.keyClick(self._target(), key, held or Qt.KeyboardModifier.NoModifier)
        self.desk.settle(self.window)


def from_spreadsheet(person: Person, file: str, price: str = "") -> None:
    """Until the lot is here. `price`: of the whole lot, where the spreadsheet has none."""
    while not lot_of(person.desk):
        panel = person.window.panel
        match panel:
            case None if person.window.view_name() != "lots":
                person.act("view.lots")
            case None:
                person.act("lots.import_lot")
            case FilePanel() if Path(panel.file.text()).name != file:
                person.go_to(panel.file)
                person.press(Qt.Key.Key_Down)
            case FilePanel() if panel.lot.text() != LOT:
                person.go_to(panel.lot)
                person.fill(LOT)
            case FilePanel():
                person.press(Qt.Key.Key_Return, thinks=True)
            case PreviewPanel() if price and not panel.cost.text().startswith(price):
                person.go_to(panel.cost)
                person.fill(price)
            case PreviewPanel():
                assert panel._draft.sound, "the list of the bench is sound"
                person.press(Qt.Key.Key_Return, thinks=True)
            case _:
                person.press(Qt.Key.Key_Escape)


def by_hand(person: Person, model: str) -> None:
    """Until the lot is here with all of its units, and the panel is closed."""
    desk, window = person.desk, person.window
    while not lot_of(desk):
        panel = window.panel
        match panel:
            case None if window.view_name() != "lots":
                person.act("view.lots")
            case None:
                person.act("lots.new_lot")
            case LotPanel():
                person.go_to(panel.name)
                person.fill(LOT)
                person.press(Qt.Key.Key_Return, thinks=True)
            case _:
                person.press(Qt.Key.Key_Escape)
    while (done := len(lot_of(desk))) - 1 < len(CLAIMS) or window.panel is not None:
        panel = window.panel
        match panel:
            case QuickPanel() if done - 1 == len(CLAIMS):
                person.press(Qt.Key.Key_Escape)
            case QuickPanel() if panel.model.text() != model:
                person.go_to(panel.model)
                person.fill(model[:1])
                person.press(Qt.Key.Key_Down)
            case QuickPanel():
                person.go_to(panel.claim)
                person.type(CLAIMS[done - 1], claim=True)
                person.press(Qt.Key.Key_Return)
            case None if (lot := window.lots.lot()) is not None and lot.name == LOT:
                person.act("lots.new_unit")
            case None:
                person.press(Qt.Key.Key_Up)
            case _:
                person.press(Qt.Key.Key_Escape)


def lot_of(desk: Workbench) -> list[str]:
    """The lot and the tags of its units; nothing while it is not there."""
    lots = [lot for lot in desk.store.lots() if lot.name == LOT]
    return [LOT, *(unit.tag for unit in desk.store.units_of_lot(lots[0].id))] if lots else []


def wrong_in(desk: Workbench, model: str) -> list[str]:
    """What came in otherwise than the list says."""
    units = {unit.tag: unit for lot in desk.store.lots() if lot.name == LOT for unit in desk.store.units_of_lot(lot.id)}
    wanted = {tag: (model, READ_AS.get(claim, claim)) for tag, claim in zip(TAGS, CLAIMS, strict=True)}
    found = {tag: (unit.model, READ_AS.get(unit.claim, unit.claim)) for tag, unit in units.items()}
    otherwise = [tag for tag in sorted({*wanted, *found}) if found.get(tag) != wanted.get(tag)]
    return [f"{tag}: {found.get(tag)}, not {wanted.get(tag)}" for tag in otherwise]


def worked(job: Callable[[Person], None], model: str = MODEL) -> tuple[Person, list[str]]:
    """The job done on records with one lot before, and what is wrong with what came in."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["RESTPOINT_DATA"] = str(Path(folder) / "records")
        desk = Workbench()
        try:
            SheetShelf(paths.sheets_folder()).save(replace(plover(), name=OTHER))
            lists(Path(folder))
            desk.store.set_setting(FOLDER, folder)
            before = desk.store.add_lot(Lot("", "SM-07", "2026-11-20"))
            desk.store.add_unit(Unit("", "SM-07-01", MODEL, before.id, sheet=MODEL))
            window = MainWindow(desk.desk, "dark", Sound({}))
            window.stop_clock()
            window.shown.late_key_s = 0.0  # the keys come in no time here
            window.resize(1280, 720)
            window.show()
            window.activateWindow()
            assert QTest.qWaitForWindowActive(window)
            desk.settle(window)
            person = Person(window, desk)
            job(person)
            wrong = wrong_in(desk, model)
            window.close()
        finally:
            desk.close()
    return person, wrong


def lists(folder: Path) -> None:
    """An old list, and the two of this lot: with a price for each unit, and without."""
    for k, (name, price) in enumerate((("stock of last week", 3), ("no prices", None), ("stock", 8.5))):
        book = openpyxl.Workbook()
        sheet = book.active
        assert sheet is not None
        sheet.append(["Tag", "Model", "Fault", "Price"])
        for tag, claim in zip(TAGS, CLAIMS, strict=True):
            sheet.append([tag, MODEL, claim, price])
        book.save(folder / f"{name}.xlsx")
        os.utime(folder / f"{name}.xlsx", (1_790_000_000 + 60 * k,) * 2)


def told(name: str, person: Person) -> None:
    words = f" beside {person.letters} letters of claims" if person.letters else ""
    print(f"{name}: {person.seconds:.1f} s, {person.keys} keys{words}: {' '.join(person.pressed)}")


def main() -> int:
    app = make_app([])
    jobs: Sequence[tuple[str, Callable[[Person], None], str]] = (
        ("from a spreadsheet", lambda person: from_spreadsheet(person, "stock.xlsx"), MODEL),
        ("the same, its price typed", lambda person: from_spreadsheet(person, "no prices.xlsx", "102"), MODEL),
        ("by hand", lambda person: by_hand(person, MODEL), MODEL),
        ("by hand, another model", lambda person: by_hand(person, OTHER), OTHER),
    )
    people, wrong = [], []
    for name, job, model in jobs:
        person, otherwise = worked(job, model)
        told(name, person)
        print(*(f"  {line}" for line in otherwise), sep="\n", end="\n" if otherwise else "")
        people.append(person)
        wrong += otherwise
    sheet, _, hand, _ = people
    out = {
        "import_s": round(sheet.seconds, 1), "import_keys": sheet.keys,
        "hand_s": round(hand.seconds, 1), "hand_keys": hand.keys,
    }  # fmt: skip
    missed = [name for name, bar in BARS.items() if out[name] > bar]
    print(f"missed: {', '.join(missed) or 'none'}")
    app.quit()
    print(json.dumps(out))
    return 1 if missed or wrong else 0


if __name__ == "__main__":
    sys.exit(main())
