"""A pad being taught at the workbench: a quiet one that only waits, or a made-up one in a hand that does the steps."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from workbench import Workbench

from station.bench.teaching_types import TeachView
from station.sources.port import DeviceInfo
from station.ui.window import MainWindow
from tests.app.taught_pad import PadSource, steady_pad

FRAME_S = 0.1
PAD = steady_pad(9001, descriptor="right")
"""sixteen buttons and what else a pad has; its descriptor tells nothing wrong"""
KINDS = {"centre": 3, "paddles": 4}
"""what it has more or less of than is usual"""
ONE_IN_DOUBT, TWO_IN_DOUBT = ("left_stick.push",), ("left_stick.push", "right_stick.push")
ALL_IN_DOUBT = ("left_stick.push", "right_lower_paddle.press")
"""steps left undone; without its last button nothing is told from it for sure"""


def made_up_pad(*clumsy: str) -> PadSource:
    """The pad in a hand that leaves these steps undone."""
    source = PadSource(PAD, name="Two-stick test pad")
    source.clumsy.extend(clumsy)
    return source


def begin(desk: Workbench, window: MainWindow, counts: Mapping[str, int]) -> DeviceInfo:
    """The pad is plugged in and its lesson begins."""
    desk.plug_in()
    desk.settle(window)
    desk.desk.teaching.begin(desk.pad.info, counts, go_on=False)
    desk.settle(window)
    return desk.pad.info


def now(desk: Workbench) -> TeachView:
    view = desk.desk.teaching.lesson()
    assert view is not None
    return view


def until(desk: Workbench, done: Callable[[TeachView], bool]) -> TeachView:
    """The hand does what is asked; nobody draws meanwhile."""
    for _ in range(10_000):
        view = now(desk)
        if done(view):
            return view
        if view.state == "learning":
            desk.desk.settle()
        if isinstance(desk.pad, PadSource):
            desk.pad.follow(view)
        desk.desk.advance(FRAME_S)
        desk.desk.live.follow()
    raise AssertionError(f"never: {now(desk)}")


def next_step(desk: Workbench) -> None:
    """The time of the step is over."""
    number = now(desk).number
    until(desk, lambda view: view.number != number or view.state != "walking")


def answering(desk: Workbench, window: MainWindow) -> TeachView:
    """All steps are done, and what they taught stands to be looked at."""
    begin(desk, window, KINDS)
    view = until(desk, lambda view: view.state == "answering")
    desk.settle(window)
    return view
