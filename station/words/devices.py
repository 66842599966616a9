"""Devices and the stream of their reports: what is there, what is wrong with it, what goes on."""

THIS_DEVICE = "This device"
NAMED_DEVICE = "The device"
NAMELESS = "the device"
"""inside a sentence, for a device that gives no name"""
NAMELESS_IN_LIST = "nameless device"
RECEIVER = "Receiver"
PAD_OF_RECEIVER = "{name}, pad {place}"
"""the pads of one receiver have no names of their own"""
NO_REASON = "no reason given"
UNKNOWN_REASON = "unknown reason"

DENIED_LINUX = (
    "You have no permission to open {name}; install the rule file {rule} once with `{command}` and plug the device "
    "in again."
)
DENIED = "The system does not let you open {name}; allow it in the system's privacy settings."
BUSY = "Another program holds {name}; close that program and plug the device in again."
WENT_AWAY = "{name} went away; plug it in again."
REPLACED = "Another device took the place of {name}; plug {name} in again."
CANNOT_OPEN = "{name} cannot be opened ({reason}); plug it in again."
NOT_IN_LIBRARY = (
    "{name} is a pad by its interface, but the library that reads such pads (hidapi) does not know its vendor number; "
    "look for a switch or key combination that makes it a HID pad."
)
PRIVATE = "{name} is a keyboard or mouse; it is not opened unless you confirm that."
PRIVATE_REFUSED = "{name} is a keyboard or mouse; confirm that it may be read."
SILENT = "{name} does not say that it is a game controller; teach it if it is one."

NO_LIST = "The system gave no list of devices; unplug all controllers and try again."
NO_LIST_WHY = "The system gave no list of devices ({reason}); unplug all controllers and try again."
NO_LIST_NOW = "The system gives no list of devices ({reason}); start the program again."
CANNOT_WATCH = "Devices cannot be watched ({reason}); start the program again."
WATCH_ENDED = "The watch for devices ended unexpectedly and is started again."

CLOSED = "The device was closed."
OPENING_AGAIN = "The device is being opened again."
ANOTHER_UNIT = "This is not the unit that was unplugged; plug in the unit of this visit."
VISIT_CLOSED = "The visit's device was closed; start the visit again."
NOT_OPEN_IN_TIME = "{name} did not open in time; plug it in again."
TAKES_NO_COMMANDS = "{name} does not take commands; plug it in again."
IS_CLOSED = "{name} is closed; plug it in again."
NO_MEMORY = "There is no room in memory for the reports of {name} ({reason}); close programs."
READER_CANNOT_START = "The reader cannot be started ({reason}); start the program again."
READER_ENDED = (
    "The reader of {name} ended unexpectedly (status {status}); what it read is kept, plug the device in again."
)
STOPPED_ANSWERING = "{name} has stopped answering; what it sent is kept, plug it in again."
CANNOT_SAVE = "The evidence cannot be saved at the moment ({reason}); make room on the disk, reading goes on."
LONGER_REPORTS = "{name} sends longer reports ({size} bytes) than it announces; they are cut."
COMMAND_HANGS = "{name} does not answer a command. Reading goes on; plug it in again if it stays so."
COMMANDS_HANG = "{name} does not answer a command; {waiting}. Reading goes on; plug it in again if it stays so."
MORE_WAITING = ("more waits behind it", "more wait behind it")
PAD_IS_OFF = "No pad answers as {name}; switch it on, and pair it with the receiver if this stays."
OPENING_SILENT = (
    "{name} did not answer step {step} of its opening ({expected} was waited for {wait_ms} ms, {tries}); "
    "plug it in again, or put that step right in its sheet."
)
OPENING_REFUSED = (
    "{name} refused step {step} of its opening ({reason}); plug it in again, or put that step right in its sheet."
)
TALK_REFUSED = {
    "keep_alive": (
        "{name} refuses what its sheet says to keep it awake ({reason}), and may fall silent; plug it in again, or put "
        "keep_alive right in its sheet."
    ),
    "answers": (
        "{name} refuses the answer of its sheet to what it asks ({reason}), and may fall silent; plug it in again, or "
        "put answers right in its sheet."
    ),
}
COMMAND_REFUSED = "{name} refused a command ({reason}); reading goes on."
READ_ERROR = "read error"
NO_MODULE = "the hidapi module {name} cannot be loaded ({reason})"

NOT_ASKED = "it was not asked"
GONE_MEANWHILE = "it went away"
OTHER_REPORT = "it gave another report"
NO_SUCH_REPORT = "it has no such feature report"
RECORDING_CANNOT_ANSWER = "a recording cannot be asked"

REPLAY_SPEED = "The replay speed must be above zero; give 1 for real time or inf for all at once."
RECORDING_ENDED = "The recording has ended."
SIMULATED_UNPLUGGED = "The simulated unit is unplugged; plug it in again."
SIMULATED_AWAY = "The simulated unit was put away."

# --- reports that a sheet sends --------------------------------------------------------------------------------

REPORTS_UNASKED = (
    "The sheet “{sheet}” does not ship with Restpoint and would send this to the device when it is opened: {reports}. "
    "Ask who made the sheet what it does; to allow it, give “restpoint devices --allow NAME” with its name, once."
)
MORE_BYTES = "{begin} … ({size} bytes)"
MORE_REPORTS = ("1 more, to be seen in its file", "{number} more, to be seen in its file")
NOTHING_TO_ALLOW = "No sheet “{sheet}” that sends anything is in the folder sheets; check its name."
REPORTS_ALLOWED = "“{sheet}” may send this from now on: {reports}"
