"""What comes after the next prompt looks like that prompt's answer: who may have been taken for whom.

A step in which nothing answers, and a later one in which something answers that is not its control's, are the two ends
of a hand that was late: of all controls between them it is not known whose answer was seen, until one is asked again.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence


def possibly_late(
    asked: Sequence[str | None], missed: Collection[str], excess: Collection[int], once: Collection[str]
) -> dict[str, str]:
    """Control whose only answer may be another's → the control that nothing answered to.

    `asked`: the control of each step (None: no single one's); `missed`: controls that nothing is known of; `excess`:
    steps in which something else answered; `once`: the controls that were asked for only once.
    """
    found: dict[str, str] = {}
    for at in (i for i, control in enumerate(asked) if control in missed):
        last = next((j for j in range(at + 1, len(asked)) if j in excess), at + 1)
        between = [c for c in asked[at + 1 : last + 1] if c is not None and c not in missed and c in once]
        found |= {c: found.get(c, str(asked[at])) for c in between}
    return found
