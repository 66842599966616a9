"""Names come from devices, sellers and other benches. None of them is markup, wherever it is shown: a picture in a tool
tip would be fetched, from a network path too."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, Qt
from PySide6.QtGui import QTextDocument
from PySide6.QtWidgets import QAbstractItemView, QLabel, QMessageBox, QTextEdit, QWidget

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "ui"))

import draw_scenes
import scenes

from station.ui.painting.hints import KeyHints
from station.ui.painting.look import DARK
from station.ui.painting.widgets import plain_label, set_tip, tip_text

ROOT = Path(__file__).resolve().parents[2]
EVIL = '<img src="//elsewhere/share/x.png"> <b>&amp;</b>'
ROLES = (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.WhatsThisRole, Qt.ItemDataRole.StatusTipRole)


def shows(tip: str) -> str:
    """The text that Qt shows for a tool tip. Fails if it is markup of anything but itself."""
    if "<" not in tip:
        return tip
    document = QTextDocument()
    document.setHtml(tip)
    assert "\ufffc" not in document.toPlainText(), f"a picture: {tip}"
    assert re.fullmatch(r"<qt>([^<>]|<br>)*</qt>", tip), tip
    return document.toPlainText()


@pytest.mark.parametrize("text", [EVIL, "a < b", "<?xml", "&lt;b&gt;", "<!-- ", "two\nlines <u>", "plain", ""])
def test_a_tool_tip_shows_its_text_as_it_is(qapp, text: str):
    widget = QWidget()
    set_tip(widget, text)
    assert shows(widget.toolTip()) == shows(tip_text(text)) == text


def drawn(keys: KeyHints) -> str:
    """The text that Qt draws for a line of keys, each gap as one space. Fails on any markup but that of keys."""
    markup = QLabel.text(keys)
    tags = re.findall(r"<[^<>]*>", markup)
    ours = r'<a href="[^"<>]*" style="color:[#\w]+;text-decoration:none">|</a>|<b style="color:[#\w]+">|</b>'
    assert all(re.fullmatch(ours, tag) for tag in tags), markup
    assert re.search(r"[<>]", re.sub(ours, "", markup)) is None, markup
    document = QTextDocument()
    document.setHtml(markup)
    return " ".join(document.toPlainText().split())


@pytest.mark.parametrize("text", [EVIL, f"Enter: {EVIL}", f"{EVIL}: {EVIL}", "F5, <b>: a \N{MIDDLE DOT} Esc: &lt;", ""])
def test_a_line_of_keys_shows_its_text_as_it_is(qapp, text: str):
    assert drawn(KeyHints(text, DARK)) == text


def tips_of(model: QAbstractItemModel) -> list[str]:
    rows, columns = model.rowCount(), 1 if isinstance(model, QAbstractListModel) else model.columnCount()
    cells = [
        model.index(row, column, QModelIndex()).data(role)
        for row in range(rows)
        for column in range(columns)
        for role in ROLES
    ]
    heads = [
        model.headerData(n, way, role)
        for way, many in ((Qt.Orientation.Horizontal, columns), (Qt.Orientation.Vertical, rows))
        for n in range(many)
        for role in ROLES
    ]
    return [str(tip) for tip in (*cells, *heads) if tip]


@pytest.mark.parametrize("scene", ["light_press", "lots", "donor", "shelf", "due", "edit", "treatment", "again"])
def test_no_widget_takes_a_name_for_markup(qapp, monkeypatch: pytest.MonkeyPatch, scene: str):
    usual, lot = scenes.unit, scenes.Lot
    monkeypatch.setattr(
        scenes, "unit", lambda number, **more: replace(usual(number, **more), model=EVIL, claim=EVIL, serial=EVIL)
    )
    monkeypatch.setattr(scenes, "Lot", lambda *given: replace(lot(*given), name=EVIL, seller=EVIL))
    with draw_scenes.shown(scene, "dark") as window:
        widgets = window.findChildren(QWidget)
        seen = [w.toolTip() for w in widgets if w.toolTip()]
        seen += [tip for w in widgets if isinstance(w, QAbstractItemView) for tip in tips_of(w.model())]
        shown = [shows(tip) for tip in seen]
        assert len(shown) > 10
        for label in window.findChildren(QLabel):
            if isinstance(label, KeyHints):
                assert drawn(label) == " ".join(label.text().split())
            else:
                assert label.textFormat() == Qt.TextFormat.PlainText or not label.text(), label.text()
        assert not window.findChildren(QTextEdit), "which takes what is pasted for markup"
        assert not window.findChildren(QMessageBox), "which takes its text for markup"
    if scene == "lots":
        assert any(EVIL in text for text in shown), "the test has to reach a tool tip with such a name"


def test_a_label_is_plain(qapp):
    assert plain_label(EVIL).textFormat() == Qt.TextFormat.PlainText


def test_tool_tips_and_labels_are_made_in_one_place():
    """Nothing else in the window sets a tool tip or makes a label, a message box or a rich text."""
    calls = re.compile(r"\.setToolTip\(|\bQLabel\(|QMessageBox|QToolTip\.|setHtml\(|QTextBrowser|QErrorMessage")
    found = [
        f"{path.name}: {line.strip()}"
        for path in sorted((ROOT / "station" / "ui").rglob("*.py"))
        if path.name != "widgets.py"
        for line in path.read_text("utf-8").splitlines()
        if calls.search(line)
    ]
    assert found == ["photo_field.py: self.preview = QLabel()"], "a picture, which has no text"
