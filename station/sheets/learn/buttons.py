"""Which bit is which button's: every control gets the signal that answers to its own steps and to no others.

A step in which another signal answers is a slip of the hand, or a copy, or a bit that somebody shares; one step cannot
tell. So signals are given out where that fits all steps together best, and whatever fits nearly as well is a doubt.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from station.sheets.learn.board import CLEAR, MOST_SHARED, Board, Pick, board_of, is_exact
from station.sheets.learn.hanging import spread_doubts
from station.sheets.learn.lists import list_bytes
from station.sheets.learn.pulses import TOGETHER_NS, Signal
from station.sheets.learn.types import PRESSES
from station.sheets.learn.walked import Walked
from station.sheets.model import Control


def pick_buttons(walked: Walked, controls: Sequence[Control], signals: Sequence[Signal]) -> list[Pick]:
    """A pick for each control."""
    if not controls:
        return []
    board = board_of(walked, controls, signals)
    copies = _copies(board)
    picks = [_verdict(board, row, copies) for row in range(len(controls))]
    numbers = list_bytes(signals, board.steps, PRESSES)
    return spread_doubts(walked, board, [_unlisted(board, pick, numbers) for pick in picks])


def _unlisted(board: Board, pick: Pick, numbers: Collection[tuple[int, int]]) -> Pick:
    """A control that answers with bits of a number is none of them's."""
    answering = [s for s in board.signals if any(int(s.count[i]) >= PRESSES for i in board.steps[pick.control.id])]
    if not any((s.stream, s.bit // 8) in numbers and not s.usage for s in answering):
        return pick
    return Pick(pick.control, doubt="list")


def _copies(board: Board) -> dict[int, tuple[int, bool]]:
    """Row of a control without a signal of its own → row of the one whose signal answers to it, and whether it is sure.

    Sure is what two steps agree on (three where neither is on the back: there is hardly a reason for such a copy), and
    most of its steps, or half of them where it answers to the others too, with a press forgotten.
    """
    owner = {column: row for row, column in board.given.items()}
    found = {}
    for row, control in enumerate(board.controls):
        if row in board.given:
            continue
        own = board.steps[control.id]
        exact = np.array([[is_exact(control, int(s.count[i])) for i in own] for s in board.signals], bool)
        often = exact.sum(axis=1) if len(exact) else np.zeros(0, int)
        always = np.array([all(s.within(i) for i in own) for s in board.signals], bool)
        answering = np.flatnonzero((2 * often > len(own)) | (always & (2 * often == len(own)))).tolist()
        if len(answering) == 1 and answering[0] in owner:
            source = owner[answering[0]]
            needed = 2 if "back" in (control.zone, board.controls[source].zone) else 3
            found[row] = source, int(often[answering[0]]) >= needed
    return found


def _verdict(board: Board, row: int, copies: Mapping[int, tuple[int, bool]]) -> Pick:
    control = board.controls[row]
    own = board.steps[control.id]
    if row in copies:
        source, sure = copies[row]
        original = board.controls[source].id
        return Pick(control, None, original, "" if sure else "copy", (original,))
    if row not in board.given:
        near = tuple(
            board.controls[r].id for r, c in board.given.items() if any(board.signals[c].within(i) for i in own)
        )
        return Pick(control, doubt="nothing", rivals=near)
    column = board.given[row]
    signal, score = board.signals[column], board.score[:, column]
    contested = tuple(
        board.controls[r].id for r in range(len(board.controls))
        if r != row and r not in board.given and not copies.get(r, (0, False))[1]
        and (score[r] > score[row] - CLEAR or any(signal.within(i) for i in board.steps[board.controls[r].id]))
    )  # fmt: skip
    rivals = _rivals(board, row)
    exact = 2 * sum(is_exact(control, int(signal.count[i])) for i in own) >= len(own)
    foreign = sum(
        any(signal.within(i) for i in board.steps[c.id])
        for r, c in enumerate(board.controls) if r != row and copies.get(r, (None, False)) != (row, True)
    )  # fmt: skip
    copied = _moves_too(board, row)
    brushed = copied is not None and sum(int(signal.count[i]) for i in own) < PRESSES  # one press goes along by chance
    mixed = 2 * sum(_is_mixed(board, row, copied, i) for i in own) > len(own)
    doubt = "contested" if contested else "two" if rivals or mixed else "weak" if not exact and foreign else ""
    if brushed and not doubt:
        return Pick(control, signal, copied, "copy", (str(copied),), exact, foreign)
    return Pick(control, signal, copied, doubt, contested, exact, foreign)


def _is_mixed(board: Board, row: int, copied: str | None, step: int) -> bool:
    """Whether something else answered to a step as often as was asked for, that is neither what the control copies nor
    a bit that answers to nearly everything."""
    expected = {board.given[row]} | {c for r, c in board.given.items() if board.controls[r].id == copied}
    return any(
        column not in expected and signal.count[step] >= PRESSES and int((signal.count > 0).sum()) < MOST_SHARED
        for column, signal in _comparable(board, row)
    )


def _rivals(board: Board, row: int) -> list[int]:
    """Signals that would do nearly as well and that nobody else has a better claim to."""
    own = board.score[row, board.given[row]]
    owner = {column: r for r, column in board.given.items()}
    return [
        column for column, _ in _comparable(board, row)
        if column != board.given[row] and board.score[row, column] > own - CLEAR
        and not (column in owner and _answers_mostly(board, owner[column], column))
    ]  # fmt: skip


def _comparable(board: Board, row: int) -> list[tuple[int, Signal]]:
    """The signals, each with its column, that may raise a doubt about a control's own. What answered to it each time,
    twice at least, and to nothing else, is in doubt only beside another that did."""
    control, own = board.controls[row], board.steps[board.controls[row].id]

    def alone(signal: Signal) -> bool:
        return int(signal.count[own].sum()) == int(signal.count.sum())

    mine = board.signals[board.given[row]]
    clean = len(own) >= 2 and alone(mine) and all(is_exact(control, int(mine.count[i])) for i in own)
    return [(column, s) for column, s in enumerate(board.signals) if not clean or alone(s)]


def _answers_mostly(board: Board, row: int, column: int) -> bool:
    own = board.steps[board.controls[row].id]
    return 2 * sum(bool(board.signals[column].within(i)) for i in own) >= len(own)


def _moves_too(board: Board, row: int) -> str | None:
    """The control whose signal goes along with this one's in all its steps: it is copied besides its own bit."""
    control, signal = board.controls[row], board.signals[board.given[row]]
    for r, column in board.given.items():
        other = board.signals[column]
        alike = r != row and board.controls[r].kind == control.kind
        along = alike and _goes_along(signal, other, board.steps[control.id])
        if along and not _goes_along(other, signal, board.steps[board.controls[r].id]):
            return board.controls[r].id
    return None


def _goes_along(one: Signal, other: Signal, steps: Sequence[int]) -> bool:
    """Whether `other` has the pulses of `one` in most of the steps in which `one` has any."""
    answered = [i for i in steps if one.within(i)]
    return 2 * sum(_together_in(one, other, i) for i in answered) > len(answered)


def _together_in(one: Signal, other: Signal, step: int) -> bool:
    """Whether each pulse that `one` has in a step is one of `other` too."""
    mine, theirs = one.starts(step), other.starts(step)
    if not len(mine) or not len(theirs):
        return False
    return bool((np.abs(mine[:, None] - theirs[None, :]).min(axis=1) <= TOGETHER_NS).all())
