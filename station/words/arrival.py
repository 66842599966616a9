"""The strip that a plugged-in device brings up: whose is it?"""

BUSES = {"usb": "USB", "bluetooth": "Bluetooth", "simulated": "simulated"}
DEVICE = "{name}, {bus}"
TAG = "Tag"
CLAIM = "Claim"
CLAIM_SHOWN = "claim, if the seller made one"
FIRST_TAG = "unit-1"
"""what is proposed where no unit has a tag with a number yet"""

TELLS_NO_CONTROLS = "New device: {device}. It does not say which controls it has: a guided walk teaches them"
NEW_WITH_SHEET = "New device: {device}, sheet {sheet}"
NEW_WITHOUT_SHEET = "New device: {device}. No sheet fits it."
BACK = "{tag} is back ({device})"
PLUGGED_IN = "{tag} is plugged in ({device})"

LOOK_FIRST = "Look first: bulging, wet, hot, smelling, broken? Then unplug it."
STOPPED = "Unplug {tag}: it was {sign} when it was looked over"
STOPPED_KEYS = "Set it aside as your local rules say. To test it all the same, look it over again: Esc, then Y."
FOR_THE_OPEN_ONE = "{tag} is open, and {device} was plugged in"
ANOTHER_MODEL = "{tag} is written up as {model}, and this is {device}: is it the same unit?"
ANOTHER_SERIAL = "{tag} has the serial number {serial}, and this {device} has another: is it the same unit?"
IS_ANOTHER_UNIT = "{plugged} is plugged in, by its serial number; {open} was open and is not this unit."

# --- what the keys do now -----------------------------------------------------------------------------

ANSWER_WITH_P = "P: answer for it"
TEACH = "Enter: teach it · Esc: put aside"
GO_ON = "Its visit “{kind}” of {begun} is not finished. Enter: go on where it stopped · Esc: not now"
START = "Enter: start the visit “{kind}” · V: another kind · Esc: not now"
START_OR_TEACH = (
    "Enter: start the visit “{kind}”, tested as it describes itself · F5: teach it · V: another kind · Esc: not now"
)
START_OF_OPEN = "Enter: start the visit “{kind}” of {tag} · N: another unit · V: another kind · Esc: not now"
GO_ON_OF = "Enter: go on with the visit “{kind}” of {tag} · N: another unit · Esc: not now"
THE_SAME_OR_ANOTHER = "Y: yes, correct what is written of {tag} · N: another unit · Esc: not now"
START_OF = "Enter: start the visit “{kind}” of {unit} · Esc: not now"
START_OF_OR_TEACH = (
    "Enter: start the visit “{kind}” of {unit}, tested as it describes itself · F5: teach it · Esc: not now"
)
UNIT = "{tag}"
UNIT_OF_MODEL = "{tag}, {model}"
UNIT_WITH_CLAIM = "{tag}, claim “{claim}”"
UNIT_OF_MODEL_WITH_CLAIM = "{tag}, {model}, claim “{claim}”"
NEW_UNIT = "Enter: new unit {unit} · known tag: that one · Tab: claim · Esc: later"
NEW_UNIT_OR_TEACH = (
    "Enter: new unit {unit}, tested as it describes itself · F5: teach it · Tab: claim · Esc: not now"
)  # fmt: skip
NEW_UNIT_BY_CLASS = (
    "Enter: new unit {unit}, tested by the sheet of its class · F5: teach its model · Tab: claim · Esc: not now"
)
TAG_OF_LOT = "{tag} of lot {lot}"
