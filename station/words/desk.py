"""What the desk tells the person: devices that come and go, sheets, lessons, records, certificates, a crash."""

CRASHED = "Something unexpected happened; results so far are kept. A report is in {place}."
ONLY_IN_LOG = "the log (the crash file could not be written)"

# --- devices and sheets -------------------------------------------------------------------------------

NOT_PLUGGED_IN = "{device} is not plugged in any more; plug it in and try again."
UNPLUGGED_BEFORE = "{device} was unplugged before it could be used; plug it in and try again."
HELD_SO_INSTEAD = (
    "Another program holds {device}; close that program and plug the device in again, or plug in {tag} instead."
)
NO_CONTROLS_SAID = "{device} does not say which controls it has; F5 teaches it."
NO_DESCRIPTOR = "it gives no report descriptor."
DESCRIPTOR_UNREADABLE = "its report descriptor cannot be read: {problem}."
SHEET_NEEDS_FIELDS = (
    "{device}: {problem} Teach it (F5 in the window), or give its fields explicitly in the sheet “{sheet}” "
    "(field = {{ report, bit, bits }})."
)
SHEET_DOES_NOT_FIT = "The sheet “{sheet}” does not fit this unit ({problem}); one was drawn up instead."
TELLS_NOTHING = (
    "{device} tells nothing of its controls; teach it (F5 in the window), or write a sheet with explicit fields for it."
)
TELLS_NOTHING_WHY = (
    "{device} tells nothing of its controls: {problem}; teach it (F5 in the window), or write a sheet with explicit "
    "fields for it."
)
IS_LEFT_ALONE = "This unit is left alone; end that first (Shift+W)."
IS_ANOTHERS = "This pad is {other}’s, so nothing was begun for {tag}. Plug {tag} in."
SHEET_SAVED = "Sheet saved: {path}"

# --- lessons ------------------------------------------------------------------------------------------

CHECK_RUNS = "A check is running: end it first, then teach the device."
SIMULATED_NOT_TAUGHT = "A simulated unit does only what a check asks; plug in a device to teach it."
NOTHING_LEARNED = "Nothing was learned that could be saved; do the steps in doubt again."
DEVICE_GONE = "The device is gone; plug it in and save the sheet again."
OTHER_SHEET_FIRST = "The sheet “{sheet}” fits this device too and comes first at the next plug-in; delete it."

# --- records ------------------------------------------------------------------------------------------

RESULT_WAITS = (
    "A result of {tag} is not stored yet, so its visit stays on the bench; make room on the disk, or close the program "
    "that holds the records, then try again."
)
RESULTS = ("result", "results")
PUT_BY = "The records could not take {results} yet; kept in a file, to be stored when the program is started again."
NOT_PUT_BY = (
    "The records could not take {results} yet, nor is there room for a file; make room on the disk. Closing once more "
    "gives them up."
)
TAKEN_UP = "{results} of the last time could not be stored then; that is done now."
STILL_PUT_BY = "{error} A result of the last time waits in {file} and is stored at the next start."
PUT_BY_UNREADABLE = (
    "The file {file} holds a result of the last time and cannot be read ({reason}); keep it, and test the unit again."
)

WORK_ON_WITHDRAWN = "Unit {tag} was withdrawn ({reason}): the work is kept and not recorded; take that back first."
NO_WORK = "No work on this unit is under way any more; log the treatment with T."
NO_SUCH_BACK_UP = "There is no back-up {name}; choose one of the list."
RESTORED = "Restored from {name}."
RESTORED_AND_FORGETS = (
    "{restored} Certificates were issued or withdrawn after that back-up: “restpoint certificates” names them and says "
    "what to do."
)
RESTORED_ASIDE = "Restored from {name}. The records until now are in {folder}."
DONOR_NOW = "{tag} is a donor now, with {count} of its parts on the shelf."
REST_NOT_USED = (
    "“{value}” is set as the rest after “{kind}” and is no whole number of days, so {days} counted; set it anew with "
    "F11, or put back what ships."
)
PHOTO_UNREADABLE = "The photo {path} cannot be read ({reason}); check the path and write the note again."
PART_AT_HAND = "{part} ({count})"
PART_AT_HAND_FROM = "{part} ({count} from {units})"
NEXT_PART = "; "

# --- certificates -------------------------------------------------------------------------------------

NOTHING_STANDS = {
    "untested": "Unit {tag} has no test results yet; work through a visit first.",
    "undecided": "No check of unit {tag} has come to a verdict yet; work through a visit first.",
    "skipped": "Every check of unit {tag} that had a verdict was skipped since; do one of them again first.",
}
CHANGED_PAST_LOG = (
    "What is recorded of {tag} was changed by another program and is not what the log says, so no certificate is "
    "written of it; look at it with “restpoint log verify”, then restore a back-up from before that."
)
NOT_NAMED = (
    "The sheet “{sheet}” does not name {extras} that the unit says it has; teach the model anew (F5), add them to the "
    "sheet, or, where this model has no such control, write there under [model]: {line}"
)
UNIT_IS_WITHDRAWN = "Unit {tag} was withdrawn ({reason}); take that back first, or open the unit that is meant."
NO_SHEET_AT_HAND = "No model sheet named “{sheet}” is at hand for {tag}; plug the unit in first."
NO_SHOP = "A certificate needs the name of the shop; press F11 in the window and type it, then write it again."
NEXT_SENTENCE = " "
PICTURE_GONE = "its file is gone"
PICTURE_TOO_LARGE = "it is larger than {most} MB"
PHOTO_LEFT_OUT = (
    "The unit's photo was left out ({reason}); add it to the unit again with N, then write the certificate."
)
MARK_LEFT_OUT = "The shop's mark {path} was left out ({reason}); choose it again with F11, then write the certificate."
CERTIFICATE_NOT_NAMED = (
    "The certificate is written and could not get its name {path} ({reason}); allow writing there, then write any "
    "certificate: this one gets its name then."
)
NUMBERS_TAKEN = "Other windows write certificates all the time; wait a moment, then ask for it again."
CERTIFICATE_NOT_WRITTEN = (
    "The certificate could not be written to {folder} ({reason}); make room or allow writing there, then ask for it "
    "again."
)
