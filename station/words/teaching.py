"""Learning a device that nobody described: what the hand does, what was not clear, what a pad's controls are called."""

PROMPTS = {
    "rest": "Put the device down and take your hands off it.",
    "move": "Pick it up and turn it about in all directions; touch no control.",
    "press": "{name}: press and let go, twice.",
    "push": "{name}: push it up and let go; then right, down, left, letting go each time.",
    "roll": "{name}: push it up to its rim and roll it slowly around, twice; let go.",
    "pull": "{name}: pull slowly all the way and let go; twice.",
    "tap": "{name}: press up and let go; then right, down, left, letting go each time.",
    "ring": "{name}: press up and roll around all eight directions, twice; let go.",
}
DOUBTS = {
    "nothing": "{name}: nothing in the reports answered to it; do it again, or leave it out if the device has none.",
    "copy": "{name}: it did what {other} does; do both again to see whether it copies it or the hand slipped.",
    "contested": "{name}: {other} did the same; do both again to see which is which.",
    "two": "{name}: more than one thing answered to it; do it again, and nothing else.",
    "weak": "{name}: it was not seen as often as it was asked for; do it again.",
    "late": "{name}: what answered may have been {other}, done late; do it again.",
    "waits": "{name}: what is its own shows only when {other} has been done again.",
    "one_axis": "{name}: only one axis answered to it; do it again, all the way to the rim.",
    "more_axes": "{name}: more than two axes answered to it; do it again, and touch nothing else.",
    "count": "{name}: four separate movements were asked for and another number was seen; do it again.",
    "order": "{name}: it is not clear which way is up and which is right; do it again: up, right, down, left.",
    "range": "{name}: it covered only part of the codes that its bits can hold; move it all the way again, or "
    "confirm that this is its full travel.",
    "full": "{name}: again it covered only part of the codes that its bits can hold; confirm that this is its full "
    "travel, or leave it out.",
    "states": "{name}: its codes do not follow the directions; do it again, slowly.",
    "codes": "{name}: its codes do not count clockwise from up, which a sheet cannot say; leave it out or "
    "use the descriptor.",
    "few": "{name}: too few of its directions were seen; roll it slowly around all eight again.",
    "bits": "{name}: its bits are in an order that a sheet cannot say; it has to be left out.",
    "coarse": "{name}: its range has hardly any steps; do it again, slowly.",
    "unlike": "{name}: it is another kind of control than its fellow on the other side; do it again, all the way.",
    "shared": "{name}: a part of what answers to it answers to another control too; do it again, and nothing else.",
    "beside": "{name}: something else that no control accounts for moves along with it; do it again, and nothing else.",
    "list": "{name}: it shares its bits with other buttons, as a list of what is pressed does; a sheet can name "
    "it only by a usage, and the descriptor gives none.",
}
ANOTHER_CONTROL = "another control"
ONE_AXIS_FOR_TWO = (
    "{first} and {second} are presented as one axis, their difference: pulled together they cannot be measured."
)  # fmt: skip

NO_CONTROL = {
    "counter": "counter",
    "time stamp": "time stamp",
    "checksum": "checksum",
    "sensor": "sensor",
    "other": "other",
}
"""bits that belong to no control"""

UNKNOWN_DEVICE = "Unknown device"
CONTROLS = {
    "left_stick": "Left stick",
    "right_stick": "Right stick",
    "left_trigger": "Left trigger",
    "right_trigger": "Right trigger",
    "direction_pad": "Direction pad",
    "left_shoulder": "Left shoulder",
    "right_shoulder": "Right shoulder",
    "upper_face": "Upper face button",
    "right_face": "Right face button",
    "lower_face": "Lower face button",
    "left_face": "Left face button",
    "lower_face_1": "Lower row of face buttons, number 1",
    "lower_face_2": "Lower row of face buttons, number 2",
    "lower_face_3": "Lower row of face buttons, number 3",
    "upper_face_1": "Upper row of face buttons, number 1",
    "upper_face_2": "Upper row of face buttons, number 2",
    "upper_face_3": "Upper row of face buttons, number 3",
    "centre_left": "Left centre button",
    "centre_right": "Right centre button",
    "centre_middle": "Middle centre button",
    "centre_lower": "Lower centre button",
    "left_stick_press": "Left stick, pressed straight down",
    "right_stick_press": "Right stick, pressed straight down",
    "left_paddle": "Left rear paddle",
    "right_paddle": "Right rear paddle",
    "left_lower_paddle": "Left lower rear paddle",
    "right_lower_paddle": "Right lower rear paddle",
}
"""the controls a pad has as a rule"""
SHORT_NAMES = {
    "Left stick, pressed straight down": "Left stick press",
    "Right stick, pressed straight down": "Right stick press",
}
"""a prompt says how to press, a sheet only which control it is"""
SIDE_OF_PAD = "{control}, {side}"
SIDES = {"up": "up", "right": "right", "down": "down", "left": "left"}
SWITCH_OF_TRIGGER = "{control}, switch"
SWITCH_NUMBER = "{control}, switch {number}"

NO_WALK = "The capture holds no guided walk (no marks of the check “learn”): record one with restpoint learn --keep."
NO_SUCH_STEP = "The capture has no step of learning {step}: write it like left_stick.roll."
STEP_OF_OTHER_KIND = "{step} is no step of a {kind}: correct the capture's marks."
