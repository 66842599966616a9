"""Model sheets: what is wrong in one, what does not fit the device, and what is said of a device that has none.

A complaint about a sheet is one sentence that names file and place, says what is wrong and ends with what to write.
"""

AT_PLACE = "{file}: {place}: {complaint}"
AT_FILE = "{file}: {complaint}"
AT_KEY = "{table}, {key}"
CONTROL_KEY = "control {control}, {key}.usage"
MATCH_ENTRY = "model, match {number}"

CANNOT_READ = "{path}: {reason}; check the name and who may read the file."
UNREADABLE = "it cannot be read"
NOT_UTF8 = "{path}: byte {byte} is not UTF-8 text; save the sheet as UTF-8."
TOO_LARGE = "{file}: larger than {most} KiB, so not a model sheet; choose another file."
NOT_TOML = "{file}: not valid TOML: {reason}; correct it there."
TOO_DEEP = "lists nested too deeply"
CANNOT_SAVE = "{path}: the sheet was not saved: {reason}; choose another folder."
UNWRITABLE = "it cannot be written"

NOT_A_SHEET = 'this is not a model sheet; a sheet begins with format = "restpoint-sheet".'
UNKNOWN_VERSION = "{value} is not known here; write version = 1, or use a newer Restpoint."
NO_MODEL = "is missing; add a [model] table with a name."
NOT_A_TABLE = "{value} is not a table; write it as {{ key = value }}."
UNKNOWN_KEY = "this key is not known; remove or correct it (known here: {keys})."
MISSPELT_KEY = "this key is not known; remove or correct it (did you mean {key}?)."
NO_TEXT = 'is missing; give it as text in "quotes".'
NOT_TEXT = '{value} is not text; put it in "quotes".'
NOT_ONE_LINE = "{value} is not one line of 1 to {most} printable characters; shorten or correct it."
NO_WORD = "is missing; give a word such as left_stick."
NOT_A_WORD = "{value} is not a word of a–z, 0–9 and _ that starts with a letter; correct it."
NO_CHOICE = "is missing; write {choices}."
UNKNOWN_CHOICE = "{value} is not known; write {choices}."
NO_NUMBER = "is missing; give a whole number {low} to {high}."
NOT_WHOLE = "{value} is not a whole number; give one from {low} to {high}."
HUGE_NUMBER = "a number of thousands of digits"
OUT_OF_RANGE = "{value} is out of range; give a whole number {low} to {high}."
NOT_A_FLAG = "{value} is neither true nor false; write true or false."
NOT_A_LIST = "{value} is not a list; write it as [ … ]."
TOO_MANY_ENTRIES = "it has {count} entries; give at most {most}."

RUMBLE_INCOMPLETE = "it needs off and at least one of left, right and both; add the missing report."
RUMBLE_NEVER_OFF = "off and {motor} send the same bytes, so the motor would never stop; write off as it stops them."
NOT_A_REPORT = '{value} is not a hex string of 1 to {most} bytes; write it like "05 01 ff", report id first.'
ID_REPEATED = "the id stands {count} times; give each one an id of its own."
TWO_AXES = "x and y"
MOTION_AXIS_MISSING = "is missing in part; give all three axes of the accelerometer, of the gyro, or of both."
ONE_AXIS_MISSING = "one of the two is missing; give both, or neither for a stick that is only seen_as."
NOT_ANOTHER_CONTROL = "{value} is not another control of this sheet; name one of its ids."
OTHER_KIND = "{other} is a {kind}, not a {wanted}; name a control of the same kind."
THIRD_TWIN = "{other} names {value} as its own twin; let the two name each other."
SEEN_AS_COPY = "{other} is itself seen as another control; name the control that really reports."
NO_PLACE = "is missing; say where it is, as {key} = {{ usage = [9, 1] }}."
USAGE_OR_FIELD = "it needs either usage or field; write usage = [page, usage], or field = { … }."
UP_WITHOUT_MEANING = "it has a meaning for y, triggers and buttons only; remove it."
RIGHT_WITHOUT_MEANING = "it has a meaning for x only; remove it."
NOT_A_PAIR = "{value} is not a pair; write [page, usage], such as [0x01, 0x30] for X."
ABSENT_AND_NAMED = "{value} is where {control} is; take it out of absent, or take out that control."
MIN_NOT_BELOW_MAX = "{low} is not below max, {high}; give the smallest and the largest code."
OPEN_STEP = "step {number} of open"
ANSWERS_ENTRY = "entry {number} of answers"
STEP_DOES_NOTHING = 'a step sends something (send = "05 20"), waits for something (expect = "20"), or both.'
WITHOUT_EXPECT = "it says how long to wait, but not for what; give expect, or take it out."
OPENS_TOO_LONG = "all steps together may wait {most} seconds; shorten within_ms or tries."
NOT_AN_INTERFACE = '{value} is not class, subclass and protocol of an interface in hex; write them like "ff 5d 01".'
NO_VENDORS_INTERFACE = (
    "{value} is a class that a driver of the system presents; take it out, and name the device by its ids in match."
)
BEGINS_AND_REPORT = "a field has either the report's id or how the report begins; take one of them out."
BEYOND_ITS_LENGTH = "the field ends beyond it; a report that holds it is at least {bytes} bytes long."
BIT_IN_REPORT_ID = "bit {bit} lies in the report id; count from the id byte on: the first is 8."
NOT_WHOLE_BYTES = (
    "{bits} bits from bit {bit} on are not 2 or 4 whole bytes; give the whole bytes as bits = 16 or 32 and their "
    "range with min and max."
)
MEASURING_CHECK = "{check} is a check that measures; choose another word."
READING_TWICE = "a reading stands twice; name each one once."
SERVES_NOTHING = "{value} is no control of this sheet; name a control, or an axis such as left_stick.x."
UNKNOWN_CHECK = "there is no such check; write {checks}."
NOT_A_READING = "this is not the name of a reading; see docs/METHOD.md for the names."
NOT_LIMITS = "{value} is not a list of 2 numbers; write [pass, fail beyond], such as [5.0, 10.0]."
NOT_FINITE = "{value} is not a finite number; write [pass, fail beyond], such as [5.0, 10.0]."

NO_SUCH_INPUT = (
    "{place}: this device has no input {usage!r} (page 0x{page:02x}, usage 0x{number:02x}); it has {inputs}: "
    "name one of these."
)
NO_SUCH_INPUT_AMONG = (
    "{place}: this device has no input {usage!r} (page 0x{page:02x}, usage 0x{number:02x}); it has {inputs} and "
    "{more} more: name one of these."
)
NO_INPUTS_AT_ALL = (
    "{place}: this device has no input {usage!r} (page 0x{page:02x}, usage 0x{number:02x}); it describes no inputs "
    "at all: give the places with field = {{ … }}."
)
CHOICE_OF_LIST = (
    "{place}: {usage} is one choice of a list on this device and cannot be a {kind}; make it a button, or name "
    "another usage."
)
NO_RANGE = "{place}: the device gives {usage} no range ({low} to {high}); give it with field = {{ … min, max }}."

STICK_OF = "{x} and {y}"
"""the name of a stick drawn up from its two axes"""
HAT_NUMBER = "Hat switch {number}"
DEVICE_OF_IDS = "Device {vendor:04x}:{product:04x}"
FEEL_MOTORS = "Each motor is felt in its turn, and stops at once"
CANNOT_TELL_APART = (
    "pulled together they cancel, and the released value and the full pull of each cannot be told apart"
)  # fmt: skip
MAY_BE_TWO_TRIGGERS = (
    "{control} may be two triggers presented as one axis: {cannot}; if the unit has two triggers, learn the model with "
    "`restpoint learn`, which gives each its half."
)

SYSTEM_SAYS_ONLY = "the system says only: {level}"
SYSTEM_LEVELS = {"critical": "critical", "low": "low", "normal": "normal", "high": "high", "full": "full"}
"""the kernel's words for how full a cell is"""

MOTION_SENSOR = "Motion sensor"
TOUCH_CONTACT = "Touch pad, contact {number}"
