"""Doubts that spread: what may belong to a control that is itself in doubt is in doubt too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from station.sheets.learn.board import MOST_SHARED, Board, Pick
from station.sheets.learn.late import possibly_late
from station.sheets.learn.types import PRESSES
from station.sheets.learn.walked import Walked


def spread_doubts(walked: Walked, board: Board, picks: Sequence[Pick]) -> list[Pick]:
    """The picks, those in doubt too that others in doubt may have a claim to."""
    excess = _excess(board)
    return _waiting(board, _entangled(board, _late(walked, board, picks, excess)), excess)


def _excess(board: Board) -> set[int]:
    """The steps in which something answered as often as was asked for, and was not what their control was given."""
    own = {(column, i) for row, column in board.given.items() for i in board.steps[board.controls[row].id]}
    return {
        i for column, signal in enumerate(board.signals) if int((signal.count > 0).sum()) < MOST_SHARED
        for i in np.flatnonzero(signal.count >= PRESSES).tolist() if (column, i) not in own
    }  # fmt: skip


def _late(walked: Walked, board: Board, picks: Sequence[Pick], excess: set[int]) -> list[Pick]:
    """What may have been the late answer to another prompt is in doubt."""
    asked = [s.step.control.id if s.step.control is not None else None for s in walked.steps]
    missed = [p.control.id for p in picks if p.doubt == "nothing"]
    once = [p.control.id for p in picks if len(board.steps[p.control.id]) < 2]
    late = possibly_late(asked, missed, excess, once)
    return [
        replace(p, doubt="late", rivals=(late[p.control.id],)) if p.control.id in late and not p.doubt else p
        for p in picks
    ]


def _entangled(board: Board, picks: Sequence[Pick]) -> list[Pick]:
    """What answered to a control in doubt too may be that one's, for who was asked for but once."""
    in_doubt = [p.control.id for p in picks if p.doubt]

    def rivals(pick: Pick) -> tuple[str, ...]:
        if pick.doubt or pick.signal is None or len(board.steps[pick.control.id]) > 1:
            return ()
        return tuple(d for d in in_doubt if any(pick.signal.within(i) for i in board.steps[d]))

    return [replace(p, doubt="contested", rivals=r) if (r := rivals(p)) else p for p in picks]


def _waiting(board: Board, picks: Sequence[Pick], excess: set[int]) -> list[Pick]:
    """What hangs on a control that is still in doubt is in doubt too: of bits that always went together, which one is
    whose, as long as a control in doubt was asked for but once; and a copy, on its original.

    A control whose own bit was not seen, neither late nor in its step, where another was pressed, may have been pressed
    in a third one's: until it is asked for again, nobody who was asked for but once is sure of his.
    """
    asked_once = {c for c, steps in board.steps.items() if len(steps) < 2}
    once = tuple(p.control.id for p in picks if p.doubt and p.control.id in asked_once)
    unseen = tuple(p.control.id for p in picks if p.control.id in once and _is_unseen(board, p, excess))

    def on(pick: Pick) -> tuple[str, ...]:
        if pick.signal is None:
            return ()
        return once if pick.signal.mirrors else unseen if pick.control.id in asked_once else ()

    made = [_waits(p, ids) if (ids := on(p)) else p for p in picks]
    in_doubt = {p.control.id for p in made if p.doubt}
    return [_waits(p, (p.copies,)) if p.copies is not None and p.copies in in_doubt else p for p in made]


def _is_unseen(board: Board, pick: Pick, excess: set[int]) -> bool:
    """Whether nothing is known of a control. (A paddle that does what another one does is a copy as a rule.)"""
    if pick.doubt == "nothing":
        return not any(i + 1 in excess for i in board.steps[pick.control.id])
    return pick.doubt == "copy" and pick.signal is None and pick.control.zone != "back"


def _waits(pick: Pick, on: tuple[str, ...]) -> Pick:
    return pick if pick.doubt else replace(pick, doubt="waits", rivals=on)
