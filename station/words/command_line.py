"""The command line: what each command and option is for, and what the commands say.

In the help of an option `%(default)s` stands for what it is without being given.
"""

# --- help ---------------------------------------------------------------------------------------------

PROGRAM = "Bench station for refurbishing game controllers."
RECORDS = "use the records in this folder"
WINDOW = "open the window (the same as no command)"
DEMO = "try it on a sample unit, with records of its own"
DEMO_AUTO = "work through the whole unit without a person or a display"
DEMO_UNIT = "which sample unit (default: %(default)s)"
DEMO_FOLDER = "where to keep the demo's records (default: a new folder)"
ASSESS = "measure captures again"
ASSESS_SHEET = "use this model sheet"
ASSESS_JSON = "one JSON object a line for each capture"
DEVICES = "list what is plugged in"
SHEET_NAME = "SHEET"
DEVICES_ALLOW = "let a sheet that does not ship send its reports when a device is opened"
DEVICES_ALL = "also name devices that are not opened unasked"
ALONE = "leave units alone and say what they do by themselves"
ALONE_MINUTES = "for so many minutes (default: 10)"
ALONE_FOLDER = "where the recordings go (default: here)"
MINUTES_NAME = "MINUTES"
LEARN = "make a model sheet for a device nobody described, by a guided walk"
LEARN_CAPTURE = "learn from a walk that was kept before"
LEARN_KEEP = "keep this walk as a capture"
LEARN_OUT = "write here instead of the own sheets' folder"
LEARN_DEVICE = "part of the product's name, or its ids (1209:0001), if several are there"
LEARN_ACCEPT = "write the best guess for these, although in doubt"
LEARN_NUMBER = "number of {controls} (at most {most}, default {usual})"
LEARN_CONTROLS = {
    "sticks": "sticks",
    "triggers": "triggers",
    "pads": "direction pads",
    "shoulders": "shoulder buttons",
    "face": "face buttons",
    "centre": "centre buttons",
    "stick_presses": "sticks that can be pressed",
    "paddles": "paddles",
}
VERIFY = "say whether a certificate is genuine"
VERIFY_JSON = "one JSON object"
KEY = "this bench's signing key, and the keys of other benches"
KEY_WRITE = "write this bench's public key for a buyer"
KEY_TRUST = "know another bench's key: its key file or certificate"
KEY_FORGET = "no longer know a key"
KEY_NEW = "make a new key for this bench; the old one is set aside"
KEY_NAME = "whose key it is (with --trust), or what buyers call this bench"
KEY_FINGERPRINT = "with --trust: what the other bench told you by another way"
LOG = "the records' log"
LOG_AGAINST = "certificates, exports or back-ups of these records, each with the log as it was then"
RESTORE = "list the back-ups, or put one in the place of the records"
RESTORE_BACK_UP = "its name in the list, or the path of a file"
EXPORT = "write the records as CSV, JSON and captures"
MERGE = "join the records of another bench into these"
MERGE_YES = "do not ask; say what changes, and go on"
SYNC = "join records with other benches through a shared folder"
SET = "show or change what a shop can set: its name, prices, days of rest, how the bench behaves"
SET_NAME = "which; without one, all are listed"
SET_VALUE = 'what it shall be; "" makes it what it is of itself'
SETTING_NAME = "NAME"
VALUE_NAME = "VALUE"
NOTICES = "the licences of Restpoint and of what it is built on"
SYNC_FOLDER = "the shared folder, the same for every bench"
MERGE_OTHER = "the other bench's records folder or database file"

COMMAND_NAME = "COMMAND"
FOLDER_NAME = "FOLDER"
TAG_NAME = "TAG"
CAPTURE_NAME = "CAPTURE.npz"
WALK_NAME = "FILE.npz"
SHEET_NAME = "SHEET.toml"
WORD_NAME = "WORD"
CONTROL_NAME = "CONTROL"
NUMBER_NAME = "N"
CERTIFICATE_NAME = "FILE.pdf"
FILE_NAME = "FILE"
FINGERPRINT_NAME = "FINGERPRINT"
BACK_UP_NAME = "BACKUP"
OTHER_NAME = "OTHER"
"""what stands in the help in the place of what is to be given"""

NO_DISPLAY = (
    "There is no display to open a window on; start it from a desktop session, or use “restpoint demo --auto” and "
    "“restpoint assess”, which need none."
)
CANNOT_READ = "{path} cannot be read ({reason}); check the path."
SHEET_WRITTEN = "sheet: {path}"

# --- demo ---------------------------------------------------------------------------------------------

DEMO_BEGINS = "{tag}, {model}: {checks}"
DEMO_CHECKS = ("check", "checks")
DEMO_RESULT = "{title}: {outcome}"
DEMO_OUTCOME = "outcome: {outcome}"
DEMO_FINDING = "  {finding}"
DEMO_RECORDS = "records: {path}"
DEMO_CERTIFICATE = "certificate: {path}"
DEMO_SIGNED = "signed with key {fingerprint}; to check it: restpoint --records {folder} verify {path}"
DEMO_NOT_SIGNED = "not signed: {problem}"

# --- devices ------------------------------------------------------------------------------------------

NO_CONTROLLER = (
    "No game controller is plugged in. Plug one in, or see “restpoint devices --all”. One on a cable that only charges "
    "is seen by nobody: try another cable."
)
NO_DEVICE = (
    "The system lists no HID device at all. Plug one in; a unit with a mode switch may be in a mode that is not HID."
)
DEVICE = "{name}  {vendor:04x}:{product:04x}  {bus}"
IS_WITH_SERIAL = "  is: {usages}; serial {serial}"
IS_WITHOUT_SERIAL = "  is: {usages}; no serial number"
NO_USAGE = "no usage given"
IS_INTERFACE = "interface of class {interface}, which no HID driver presents"
READ_THROUGH = "  read through: {way}"
BACK_ENDS = {
    "hidraw": "the system's raw HID node",
    "libusb": "libusb, in the place of the kernel's driver, which has it back when it is closed",
    "hidapi": "the system's HID driver",
}
BY_CLASS = (
    "Its sheet is that of its interface class, not of its model; teach it (F5 in the window) where a control is not "
    "what it is called."
)
NOT_OPENED = "  not opened: {problem}"
NOT_TESTABLE = "  cannot be tested: {problem}"
SHEET_FITS = "  sheet: {sheet} (fits), {controls}"
SHEET_DRAWN_UP = "  sheet: {sheet} (drawn up from its descriptor), {controls}"
CONTROLS = ("control", "controls")
VIBRATES = "  vibrates: {way}"
VIBRATION_WAYS = {
    "sheet": "by the reports in its sheet",
    "haptics": "by the haptics page of HID",
    "PID": "by effects, as HID's physical input devices do (PID)",
}
VIBRATES_UNKNOWN = "in no way that is known; write the reports of its motors into a sheet (rumble) if it does"
TELLS_CELL = "  tells its cell: {ways}"
CELL_IN_REPORTS = "in its reports"
CELL_WHEN_ASKED = "when it is asked"
CELL_BY_SYSTEM = "through the system"
CELL_NOT_TOLD = "no"
NOTE = "  note: {remark}"

# --- learn --------------------------------------------------------------------------------------------

NOTHING_LEARNED = "Nothing was learned from the reports; check that the device answers, and walk again."
NO_SUCH_GUESS = "There is no guess for {control!r} to accept; name one of {guesses}."
NO_GUESS = "There is no guess for {control!r} to accept; name none: nothing is in doubt."
NUMBER_OUTSIDE = "{option} must be 0 to {most}; say how many the pad has."
WALK_KEPT = "walk: {path}"
WALK_BEGINS = "{steps}, about {minutes}. Do what each line says until the next."
STEPS = ("step", "steps")
MINUTES = ("minute", "minutes")
DO_AGAIN = "Some of it is not clear yet; please do these again."
STEP = "{number}/{count}  {prompt}"
WRITE_AS_SEEN = "{question} Write it as it was seen?"
CONFIRM = "{question} [y/N] "
YES = "y"
"""how an answer begins that confirms"""
SURE = "{control}: {percent}% sure"
LEFT_OUT = "left out: {what}, report {report}, bit {bit}, {bits} bits"
OPEN_QUESTION = "open: {question}"
GUESS_LEFT_OUT = "guess left out: {control} (write it with --accept {control})"
NO_PAD = "No game controller is plugged in that could be learned; plug it in and try again."
NO_PAD_BUT_SILENT = (
    "No game controller is plugged in that could be learned; plug it in and try again. These do not say what they are: "
    "{devices}; name the pad with --device."
)
SEVERAL_DEVICES = "Several devices are plugged in ({devices}); name one with --device."

# --- key and verify -----------------------------------------------------------------------------------

KEY_LINE = "“{name}”, {fingerprint}"
KEY_FORGOTTEN = "No longer known: {key}"
KEY_UNWRITABLE = "{path} cannot be written ({reason}); allow it or name another place."
NO_KEY_YET = "This bench has no key yet; its first certificate makes one, or “restpoint key --new”."
OWN_KEY = "This bench signs with key {fingerprint}"
OWN_KEY_FOR_BUYERS = (
    "“restpoint key --write FILE” writes it for a buyer; tell them the fingerprint by another way as well."
)
KEY_KNOWN = "known: {key}"
NO_KEY_TO_WRITE = "This bench has no key yet; make one with “restpoint key --new”, then write it."
KEY_WRITTEN = "{path}: {key}"
KEY_IS_NEW = "This bench now signs with key {fingerprint}"
KEY_IS_NEW_TELL = "Tell your buyers. What was signed before stays genuine where the old key is known."
TELL_FINGERPRINT = (
    "{path} is signed, but anybody can sign; give the fingerprint that the seller told you by another way (their web "
    "site, a call) with --fingerprint."
)
TELL_FINGERPRINT_OF_FILE = (
    "{path} says that it is the key of “{name}”, as any file can; give the fingerprint that they told you by another "
    "way (their web site, a call) with --fingerprint."
)
NAME_IS_TAKEN = (
    "“{name}” is known here with another key, {fingerprint}; if they told you that they have a new one, forget the old "
    "one first (restpoint key --forget {forget}), else do not rely on this one."
)
OTHER_FINGERPRINT = (
    "{path} holds key {fingerprint}, not the one you were told; do not rely on it, ask the seller."
)  # fmt: skip
NAME_THE_KEY = "It has to be said whose key this is; give a name with --name."
KEY_KNOWN_NOW = "Known from now on: {key}"

TOO_LARGE = "{path} is larger than any certificate ({most} MB); ask the seller for the right file."
NO_PDF = "{path} is no PDF; ask the seller for the file as the bench wrote it."
VERDICT = "{verdict}: {path}"
VERDICTS = {
    "genuine": "genuine",
    "altered": "altered",
    "unknown key": "unknown key",
    "not signed": "not signed",
}
GENUINE = "Signed by “{name}”, key {fingerprint}; unchanged since."
UNKNOWN_KEY = "Unchanged since it was signed, but by a key that is not known here: {fingerprint}"
ASK_FOR_FINGERPRINT = (
    "Ask the seller for the fingerprint by another way (their web site, a call). If it is the same:"
)  # fmt: skip
TRUST_WHEN_TOLD = 'restpoint key --trust {path} --fingerprint "FINGERPRINT AS TOLD" --name "SELLER"'
DEMO_FOLDER_NAME = "FOLDER"
KNOWN_TO_THE_DEMO = (
    "A demo has a key of its own, which its own records know; ask with them: restpoint --records {folder} verify {path}"
)
NOT_WRITTEN = "What there is to say could not be written ({reason}); make room, or let it go elsewhere, and try again."
FILE_FAILED = "{path} could not be used ({reason}); check it, and that there is room, and try again."
NO_HOME = (
    "The system does not say where this user's files are; give the folder of the records with --records, or set HOME."
)
NO_MEMORY = "That needs more memory than there is; close other programs, or take a smaller file."
REASON = "- {reason}"
NOT_TO_BE_RELIED_ON = "Do not rely on it; ask the seller for the file as the bench wrote it."
SAYS = "It says: {number}: {what}; {counts}; issued {day}."
OF_SIMULATED = "It is of a SIMULATED unit: no real controller was tested."
NO_NUMBER = "no number"
UNIT = "unit {tag}"
NOT_SAID = "?"
GRADE = "grade “{grade}”"
SHOPS_GRADE = "the shop's own grade “{grade}”"
COUNTS = {
    "passed": "{count} passed",
    "borderline": "{count} borderline",
    "failed": "{count} failed",
    "not_done": "{count} not done",
}

# --- records ------------------------------------------------------------------------------------------

EXPORTED = "Exported to {folder}: {rows}, {files}."
ROWS = ("row", "rows")
FILES = ("file", "files")
KEPT_MADE_ANEW = "What the views read was worked out anew from the records; nothing else was changed."
LOG_WHOLE = "The log is whole: {entries}."
ENTRIES = ("entry", "entries")
AGREES_WITH = "It holds all that {where} says of it."
NOT_TO_COMPARE_WITH = (
    "{path} is no certificate to compare with ({verdict}); give one as it was written, with its signature."
)
HOLDS_NO_HEAD = (
    "{path} does not say where the log ended (those of earlier versions do not); give a later certificate, export or "
    "back-up."
)
BENCH_HEAD = "bench {bench}: entry {entry}, {digest}"
MERGE_ASK = "Go on? [y/N] "
NOT_MERGED = "Nothing was merged."
NOT_BY_YES = (
    "Nothing was merged: what is written in the name of this bench comes in only when you agree to it yourself; give "
    "the command in a terminal, without --yes."
)
SAY_YES = "Nothing was merged; if that is right, give the command again with --yes."
SYNC_WITH = "{name}:"
SYNC_ALONE = "No other bench has put its records into {folder} yet."
SYNC_WRITTEN = "Written for the others: {folder}: {files}."
SYNC_IN_RECORDS = "{folder} lies in the records of this bench; name a shared folder elsewhere."
SYNC_NO_FOLDER = "There is no folder {folder}; make it, or check that the share is connected."
SYNC_UNWRITABLE = "{path} cannot be written ({reason}); nothing of this bench was lost, check the share and sync again."
RECORDS_NO_NAME = "the folder of the records has no name; give one"
RECORDS_A_FILE = "{path} is a file; give the folder that it lies in, {folder}"
KEY_OF_OTHER = "Its certificates may be signed by “{name}”, key {fingerprint}; to know that key here:"
TRUST_KEY = 'restpoint key --trust {path} --fingerprint "FINGERPRINT AS TOLD"'
NO_BACK_UP_YET = "There is no back-up in {folder} yet."
NO_SUCH_BACK_UP = "There is no back-up {name}; “restpoint restore” lists those there are."

# --- labels -------------------------------------------------------------------------------------------

LIST_NAME = "LIST"
VERIFY_LIST = "the seller's list of certificates: says whether this one was withdrawn or replaced"
CERTIFICATES = "list the numbers of all certificates: genuine, replaced or withdrawn"
CERTIFICATES_TO = "write them as a signed list for buyers and for the checking page"
LISTING = "print the text of an offer from a certificate, with pictures of the sticks beside it"
ACCOUNTS = "write what units, lots and months come to, as a table"
ACCOUNTS_FILE = "a workbook (.xlsx) or one table (.csv)"
ACCOUNTS_LOT = "of this lot alone"
ACCOUNTS_LIST = "every amount instead of the units, in a .csv"
IMPORT = "take the units of a spreadsheet into a lot, all or none"
IMPORT_FILE = "CSV or XLSX with one row of headings and one row for each unit"
IMPORT_LOT = "the lot they come into; begun if there is none of that name"
IMPORT_DRY = "only say how the file is read and what is wrong in it"
PICTURE = "write the reports behind a result, or the course of a unit, as a picture and as numbers"
PICTURE_RESULT = (
    "the id of a result, as `export` writes it into results.csv; or the tag of a unit: each reading that did not "
    "always pass, over its visits"
)
PICTURE_TO = "the folder for PNG, SVG and CSV (default: here)"
RESULT_NAME = "RESULT"
NO_SUCH_RESULT = (
    "No result has the id {result}, and no unit that tag; `restpoint export` writes all results into results.csv."
)
LABELS_OF_LOT = "print labels with tag and code for a lot's units"
LABELS_LOT = "the lot; none: list the sizes of labels"
LABELS_SIZE = "the size of label, by its name (default: the first)"
LABELS_START = "the first label of the sheet that is still there (default: %(default)s)"
LABELS_TO = "the PDF to write (default: labels-LOT.pdf here)"
LOT_NAME = "LOT"
SIZE_NAME = "SIZE"
PLACE_NAME = "N"
LABEL_SIZES = "Sizes of labels: {names}."
LABELS_WRITTEN = "{path}: {count}."
NO_SUCH_LOT = "There is no lot “{lot}”; there are: {lots}."
