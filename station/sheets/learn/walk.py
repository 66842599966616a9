"""The walk as data: which prompts, in which order, how long each. Nothing here looks at a report.

A stretch lasts from one prompt to the next, so the time to read the prompt is in it. Movements come in a fixed order
(up, right, down, left) because the order tells which way an axis runs. Everything is asked twice (two presses, two
pulls, two turns): once may be a slip.
"""

from __future__ import annotations

from collections.abc import Sequence

from station.errors import InputError
from station.sheets.learn.types import Action, LearnStep
from station.sheets.model import Control, Kind, Zone
from station.sheets.table import IDENTIFIER, shown
from station.words import teaching as words

_SECONDS: dict[Action, float] = {
    "rest": 3.0,
    "move": 5.0,
    "press": 3.5,
    "push": 7.5,
    "roll": 8.0,
    "pull": 7.5,
    "tap": 6.5,
    "ring": 7.0,
}
_ACTIONS: dict[str, tuple[Action, ...]] = {
    "stick": ("push", "roll"),
    "trigger": ("pull",),
    "hat": ("tap", "ring"),
    "button": ("press",),
}
_ORDER = ("stick", "trigger", "hat", "button")
KIND_OF: dict[str, str] = {action: kind for kind, actions in _ACTIONS.items() for action in actions}


def walk(controls: Sequence[Control]) -> tuple[LearnStep, ...]:
    """The steps for these controls (their places are not looked at); batteries have none.

    It begins and ends with hands off: to know what rest looks like, and to catch what was done late.
    """
    steps = [_step("rest", None), _step("move", None)]
    for kind in _ORDER:
        for control in (c for c in controls if c.kind == kind):
            steps += steps_for(control)
    return (*steps, _step("rest", None))


def steps_for(control: Control) -> tuple[LearnStep, ...]:
    """The steps of one control."""
    return tuple(_step(action, control) for action in _ACTIONS.get(control.kind, ()))


def duration_s(steps: Sequence[LearnStep]) -> float:
    """How long the steps take together."""
    return sum(step.seconds for step in steps)


def device_step(action: Action) -> LearnStep:
    """A step about the whole device: "rest" or "move"."""
    return _step(action, None)


def step_named(identity: str) -> LearnStep:
    """The step of that id, as a capture's marks name it: "rest", "move", or control and action ("left_stick.roll").

    Controls of the usual ids get their usual names and places; others are named by their id.

    Raises:
        InputError: there is no such step.
    """
    name, _, action = identity.rpartition(".")
    if not name and action in ("rest", "move"):
        return device_step(action)  # type: ignore[arg-type]
    kind = KIND_OF.get(action)
    if kind is None or not IDENTIFIER.fullmatch(name):
        raise InputError(words.NO_SUCH_STEP.format(step=shown(identity)))
    made = _BY_ID.get(name) or Control(name, kind, name.replace("_", " ").capitalize())  # type: ignore[arg-type]
    if made.kind != kind:
        raise InputError(words.STEP_OF_OTHER_KIND.format(step=shown(identity), kind=made.kind))
    return _step(action, made)  # type: ignore[arg-type]


def _step(action: Action, control: Control | None) -> LearnStep:
    identity = f"{control.id}.{action}" if control else action
    text = words.PROMPTS[action].format(name=control.name if control else "")
    return LearnStep(identity, action, text, _SECONDS[action], control)


def usual_controls(
    *,
    sticks: int = 2,
    triggers: int = 2,
    pads: int = 1,
    shoulders: int = 2,
    face: int = 4,
    centre: int = 3,
    stick_presses: int = 2,
    paddles: int = 0,
) -> tuple[Control, ...]:
    """The controls a pad has as a rule, without places; each number is at most what stands in `MOST`."""
    made: list[Control] = []
    made += _sides("stick", sticks, "stick", ("left hand", "right hand"))
    made += _sides("trigger", triggers, "trigger", ("top", "top"))
    made += [_named("direction_pad", "hat", "left hand")][:pads]
    made += _sides("shoulder", shoulders, "button", ("top", "top"))
    made += [_named(i, "button", "right hand") for i in (_FACE_6 if face > 4 else _FACE_4)[:face]]
    made += [_named(i, "button", "centre") for i in _CENTRE[:centre]]
    made += _sides("stick_press", stick_presses, "button", ("left hand", "right hand"))
    made += _sides("paddle", min(paddles, 2), "button", ("back", "back"))
    made += _sides("lower_paddle", paddles - 2, "button", ("back", "back"))
    return tuple(made)


MOST = {"sticks": 2, "triggers": 2, "pads": 1, "shoulders": 2, "face": 6, "centre": 4, "stick_presses": 2, "paddles": 4}
USUAL = {"sticks": 2, "triggers": 2, "pads": 1, "shoulders": 2, "face": 4, "centre": 3, "stick_presses": 2}
_FACE_4 = ("upper_face", "right_face", "lower_face", "left_face")
_FACE_6 = tuple(f"{row}_face_{n}" for row in ("lower", "upper") for n in (1, 2, 3))
_CENTRE = ("centre_left", "centre_right", "centre_middle", "centre_lower")


def _named(identity: str, kind: Kind, zone: Zone, twin: str | None = None) -> Control:
    """A control of a usual id."""
    return Control(identity, kind, words.CONTROLS[identity], zone, twin)


def _sides(word: str, count: int, kind: Kind, zones: tuple[Zone, Zone]) -> list[Control]:
    """Left and right of a thing, twins where there are two."""
    ids = [f"{side}_{word}" for side in ("left", "right")][: max(count, 0)]
    return [
        _named(identity, kind, zone, ids[1 - number] if len(ids) == 2 else None)
        for number, (identity, zone) in enumerate(zip(ids, zones, strict=False))
    ]


_BY_ID = {c.id: c for face in (6, 4) for c in usual_controls(**{**MOST, "face": face})}
