"""How long a person takes over a key, by the keystroke-level model: Card, Moran & Newell, Commun. ACM 23, 1980, 396;
*The Psychology of Human-Computer Interaction*, 1983, chapter 8. Reading a card takes no time: the model is of people
who know the work. Times are worked out, never taken, so a loaded machine changes nothing.
"""

from __future__ import annotations

K_S, M_S, H_S, REACTION_S = 0.28, 1.35, 0.40, 0.25
"""a key, by an average typist who is no secretary; before a key that has to be thought about; a hand that goes from
what it holds to the keyboard or back; until it begins after it was asked (customary, no source of its own)"""


def begins_s(*, thinks: bool) -> float:
    """From what is seen to the hand that begins to move."""
    return REACTION_S + M_S * thinks


def pressed_s(*, from_pad: bool) -> float:
    """From there to the key that is down."""
    return H_S * from_pad + K_S
