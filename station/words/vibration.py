"""A unit that is made to vibrate: which motor runs, what to mind, and why it does not."""

MOTORS = {"left": "left only", "right": "right only", "both": "both"}
"""the motors of a sheet, by the hand that feels them"""
FIRST = "first motor only"
SECOND = "second motor only"
BOTH = "both"
ONLY = "the motor"
"""the standards number the motors and do not say which hand holds them"""

IT_MAY_MOVE = "It may move: hold it loosely, fingers clear of what moves."
"""effects are made for sticks and wheels with motors of their own"""
IT_MAY_MOVE_ONE_ONLY = (
    "It may move: hold it loosely, fingers clear of what moves. The unit has room for one effect only: its second "
    "motor is not run."
)

NO_WAVE_FORM = (
    "The unit lists no wave form that a hand can feel; write the reports of its motors into its sheet (rumble)."
)  # fmt: skip
NO_ROOM = (
    "The unit has no room for a vibration effect; close other programs that make it vibrate, or plug it in again. If "
    "that does not help, write the reports of its motors into its sheet (rumble)."
)
REFUSED = (
    "The unit refuses the effect that would make it vibrate; write the reports of its motors into its sheet (rumble)."
)
SAYS_NOTHING = (
    "The unit does not say whether it took the effect that would make it vibrate; write the reports of its motors "
    "into its sheet (rumble)."
)
