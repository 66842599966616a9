"""What panels and views say: plurals, data words through the catalogue, dates and numbers as the system writes them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from workbench import Workbench

from station.lots.money import LotMoney
from station.lots.shares import Share
from station.lots.view import LotView
from station.records.types import Lot, Unit
from station.ui.lots.rows import notes, unit_line
from station.ui.panels.bench import FinishPanel
from station.ui.ports import DueRow
from station.ui.views import DueView
from station.ui.window import MainWindow
from station.words import common

RESTING = Unit("u", "B-1", "Plover T2", claim="goes by itself", claim_state="confirmed", rest_until="2026-11-28")


@pytest.mark.parametrize(
    ("left", "said"),
    [(0, "Every check is done."), (1, "1 check stays “not done”."), (2, "2 checks stay “not done”.")],
)
def test_what_stays_undone_is_counted(visit: MainWindow, desk: Workbench, left: int, said: str) -> None:
    session = desk.session()
    panel = FinishPanel(desk.desk.visit, replace(session, steps=session.steps[:left]), visit.look, visit)
    assert said in panel.labels()


@pytest.mark.usefixtures("german_screen")
def test_a_unit_is_told_in_the_words_of_the_catalogue(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(common.CLAIM_STATES, "confirmed", "bestätigt")  # type: ignore[arg-type]
    monkeypatch.setitem(common.BECOMES, "open", "offen")
    assert unit_line(RESTING).cells == ("B-1", "Plover T2", "goes by itself", "bestätigt", "28.11.2026", "", "offen")


@pytest.mark.usefixtures("german_screen")
def test_what_is_due_is_dated_as_the_system_does(
    window: MainWindow, desk: Workbench, monkeypatch: pytest.MonkeyPatch
) -> None:
    row = DueRow(RESTING, "2026-11-25T10:41:00+00:00", ready=False)
    monkeypatch.setattr(desk.desk.units, "due", lambda: [row])
    view = DueView(desk.desk.units, window.look)
    view.fill()
    assert view.due.texts() == [("B-1", "Plover T2", "25.11.2026", "28.11.2026", "still resting")]


@pytest.mark.parametrize(
    ("intake", "cleaning", "said"),
    [
        (Share(3, 12, 0.09, 0.53), None, "Passed at intake: 3 of 12 (9–53\u00a0%); 95\u00a0% intervals."),
        (None, Share(1, 2, 0.09, 0.91), "Cured by cleaning: 1 of 2 (9–91\u00a0%); 95\u00a0% intervals."),
        (
            Share(3, 12, 0.09, 0.53),
            Share(1, 2, 0.09, 0.91),
            "Passed at intake: 3 of 12 (9–53\u00a0%), cured by cleaning: 1 of 2 (9–91\u00a0%); 95\u00a0% intervals.",
        ),
    ],
    ids=["intake", "cleaning", "both"],
)
def test_the_shares_of_a_lot_begin_a_sentence(intake: Share | None, cleaning: Share | None, said: str) -> None:
    money = LotMoney("EUR", 12, 9600, 0, 0, 0, 0, 0, 0)
    view = LotView(Lot("l", "SM-07", "2026-11-18"), (), money, 0, intake=intake, cleaning=cleaning)
    assert notes(view, fresh=True) == said
