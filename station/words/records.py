"""What the records say when they refuse something, and after a merge, a restore or a look at the log."""

# --- the file ---------------------------------------------------------------------------------------

LOCKED = "Another program holds the records in {folder}; close it, or wait until it is done, and try again."
OPEN_ELSEWHERE = "Another program has the records open; close it and restore the back-up again."
NO_ROOM = (
    "The disk that holds the records in {folder} is full; nothing recorded was lost, "
    "make room on it and do the last step again."
)
DAMAGED = (
    "The records file {file} is damaged; copy its folder to a safe place, then restore the newest back-up from "
    "{backups}."
)
NOT_WRITABLE = (
    "The records in {folder} cannot be opened for writing; "
    "allow this user to write in that folder, or choose another folder for the records."
)
DISK_ERROR = (
    "The disk did not read or write the records in {folder} ({fault}); "
    "check the disk and its connection, then start again."
)
REFUSED = "The records refused this entry ({fault}); nothing was changed, check what it refers to."
NOT_USABLE = "The records could not be used ({fault}); start again, and if it stays so restore a back-up."
FILE_NOT_USABLE = "The file {file} could not be used ({fault}); check the disk and try again."
READ_ONLY = "The records are open for reading only; open them for writing to change them."
CLOSED = "The records are closed; open them again."
NO_RECORDS = "There are no records in {folder}; give the folder that holds {file}."
OF_ANOTHER_PROGRAM = "{file} is a database of another program; choose another folder for the records."
TOO_NEW = (
    "The records in {folder} were written by a newer version of Restpoint; "
    "install that version to open them. Nothing was changed."
)
RECORDS_MISSING = (
    "The records file {file} is gone, but what belongs to it is still there ({found}), so no new records were begun; "
    "{way_out}"
)
RECORDS_EMPTIED = (
    "The records file {file} was emptied, but what belongs to it is still there ({found}), so it is not used as new; "
    "{way_out}"
)
RESTORE_THAT = "put the newest back-up in its place with “restpoint restore {name}”."
NO_BACK_UP_HOLDS = (
    "put a copy of the file in its place, or move everything else in that folder elsewhere to begin anew."
)
NO_WAL = (
    "The disk of the records in {folder} does not let SQLite keep its write-ahead log (it stays in mode “{mode}”), as "
    "on a network share; keep the records on this computer's own disk, and join benches with “restpoint sync”."
)
ON_A_NETWORK = (
    "The records in {folder} lie on a network share ({kind}), where two computers at once can spoil them; keep them on "
    "this computer's own disk, and join benches with “restpoint sync”."
)
OTHER_SHAPE = (
    "The records file {file} was changed by another program ({found}), so that what it holds cannot be relied on; look "
    "at it with “restpoint log verify”, then restore a back-up from before that."
)
SCHEMA_KINDS = {"table": "table", "index": "index", "trigger": "trigger", "view": "view"}
SCHEMA_FOREIGN = "there is a {kind} “{name}” that is not of this program"
SCHEMA_MISSING = "the {kind} “{name}” is missing"
SCHEMA_CHANGED = "the {kind} “{name}” is made in another way"
SHAPE_FAULT = "The file was changed by another program: {found}."
SCHEMA_MORE = "{count} more"
KEPT_DIFFERS = (
    "Of what the views read in {table} {count} row is not what the records say.",
    "Of what the views read in {table} {count} rows are not what the records say.",
)
NO_FILE_OF_RECORDS = "{file} is no ordinary file; choose another folder for the records."
SQLITE_TOO_OLD = "The SQLite of this Python is {version}, the records need {needed} or newer; install a newer Python."
CLOCK_SET_BACK = (
    "The computer's clock was set back from {before} to {now}; set it right, the records keep their order meanwhile."
)
APPEND_ONLY = "{table} is append-only: add a row that corrects the old one"
"""stands in the file itself, for whoever writes into it past the program"""

# --- lots and units -----------------------------------------------------------------------------------

NO_SUCH_LOT = "That lot is not in these records; pick it from the list again."
NO_SUCH_CERTIFICATE_NUMBER = "The number of a certificate is not that of its bench; write the certificate again."
NO_SUCH_UNIT = "That unit is not in these records; pick it from the list again."
NO_SUCH_VISIT = "That visit is not in these records; start a new one."
NO_LOT_NAME = "The lot has no name; give it one, such as SM-07."
NO_TAG = "The unit has no tag; give it the one on its shelf label."
TAG_TAKEN = "The tag {tag} is on another unit ({model}); give this one a tag of its own."

WHAT_IS_TYPED = {"tag": "tag", "serial": "serial number", "name": "name", "text": "text"}
TYPED_TOO_LONG = "The {what} “{start}…” has {length} characters; write it with at most {most}."
UNSEEN_SIGN = "The {what} “{text}” holds a sign that cannot be seen ({sign}); type it again without it."

# --- words, dates and numbers that cannot be ------------------------------------------------------------

NO_CLAIM_STATE = "“{value}” is no state of a claim; use one of: {allowed}."
NO_BECOMES = "“{value}” is no thing a unit can become; use one of: {allowed}."
NO_VISIT_KIND = "“{value}” is no kind of visit; use one of: {allowed}."
NO_TREATMENT_KIND = (
    "“{value}” is no kind of treatment; write a word or a few, of at most {most} characters that can be seen."
)
NO_PURCHASE_DATE = "“{value}” is no date of purchase; write the date as 2026-03-06."
NO_REST_DATE = "“{value}” is no rest date; write the date as 2026-03-06."
NO_REST_DAYS = "“{value}” is no number of days to rest; give a whole number from 0 to {most} for {setting}."
NO_TREATMENT_TIME = "“{value}” is no time of a treatment; write the date as 2026-03-06."
LOT_COST_BELOW_NOUGHT = "The cost of a lot cannot be {value}; give a whole number from 0 to {most}."
LOT_POSTAGE_BELOW_NOUGHT = "The postage of a lot cannot be {value}; give a whole number from 0 to {most}."
LOT_EXPECTED_BELOW_NOUGHT = "The units expected of a lot cannot be {value}; give a whole number from 0 to {most}."
UNIT_COST_BELOW_NOUGHT = "What was paid for a unit cannot be {value}; give a whole number from 0 to {most}."
NO_BOX = "“{value}” does not say whether there is a box; use one of: {allowed}."
UNIT_PRICE_BELOW_NOUGHT = "The price of a unit cannot be {value}; give a whole number from 0 to {most}."
MINUTES_BELOW_NOUGHT = "The minutes of a treatment cannot be {value}; give a whole number from 0 to {most}."
TREATMENT_COST_BELOW_NOUGHT = "The cost of a treatment cannot be {value}; give a whole number from 0 to {most}."
PARTS_BELOW_NOUGHT = "The number of parts cannot be {value}; give a whole number from 0 to {most}."
STAMP_ERROR_NOT_FINITE = (
    "The error of the time stamps is not a finite number; do the check again, a value that is missing is left empty."
)
READING_NOT_FINITE = (
    "The reading “{name}” is not a finite number; do the check again, a value that is missing is left empty."
)
UNCERTAINTY_NOT_FINITE = (
    "The uncertainty of the reading “{name}” is not a finite number; do the check again, "
    "a value that is missing is left empty."
)
LIMIT_NOT_FINITE = (
    "The limit of the reading “{name}” is not a finite number; do the check again, a value that is missing is left "
    "empty."
)
FAIL_LIMIT_NOT_FINITE = (
    "The fail limit of the reading “{name}” is not a finite number; do the check again, "
    "a value that is missing is left empty."
)
PARAMETER_NOT_FINITE = (
    "A number of the finding “{code}” is not finite; do the check again, a value that is missing is left empty."
)
BEARING_NOT_FINITE = (
    "The bearing of the finding “{code}” is not a finite number; do the check again, "
    "a value that is missing is left empty."
)

# --- parts and files ------------------------------------------------------------------------------------

NO_PART_NAME = "The part has no name; say what it is."
NO_SUCH_PART = "That part is not on the shelf; pick it from the list again."
NO_PART_LEFT = "No “{part}” is left on the shelf; harvest or buy one first."

NO_REASON_TO_WITHDRAW = "Say why it is withdrawn: one line is enough."
NOTHING_TO_WITHDRAW = "That is not in the records, or was withdrawn already; look at the unit's log again."
NO_VALUES_WITHDRAWN = "That withdrawal does not say which values of a unit it takes back; use the records without it."
UNIT_GAVE_PARTS = "Parts of this unit lie on the shelf or went into another; withdraw those first."
LOT_HAS_UNITS = "There are units in this lot; withdraw those first."
LOT_HERE_NOW = "A lot {lot} was made meanwhile, so nothing came in; import again, into that one or under another name."
WENT_SINCE = "Of these units some went since ({tags}); Z on the lot (F2) takes back those that are left."
WORKED_ON_SINCE = "Of these units more is recorded since ({tags}); withdraw the others one by one, with Z on each."
MORE_TAGS = "{count} more"
PIECES_WERE_TAKEN = "Pieces of that part were taken already; withdraw the treatments that took them first."
FEES_BELOW_NOUGHT = "The fees of a sale cannot be {value}; give a whole number from 0 to {most}."
SHIPPING_BELOW_NOUGHT = "The shipping of a sale cannot be {value}; give a whole number from 0 to {most}."
REFUND_BELOW_NOUGHT = "A refund cannot be {value}; give a whole number from 0 to {most}."
RETURN_COST_BELOW_NOUGHT = "What a return costs cannot be {value}; give a whole number from 0 to {most}."
REFUND_ABOVE_PRICE = "More than the price cannot be refunded; the unit was sold for less."
NO_SALE_DATE = "“{value}” is no day of a sale; write the date as 2026-03-06."
NO_RETURN_DATE = "“{value}” is no day of a return; write the date as 2026-03-06."
NO_FOUND = "“{value}” does not say what was found; use one of: {allowed}."
NOT_SOLD_SO_NOT_BACK = "Unit {tag} is not sold, so it cannot come back; look for the unit that is meant."
BACK_BEFORE_SALE = "Unit {tag} was sold on {day}, so it cannot have come back before; look at both days."
CAME_BACK_AGAIN = "Unit {tag} was sold again since and came back once more; withdraw that return first."
SOLD_AGAIN = "Unit {tag} was sold again since; withdraw that sale first."
NO_TREATMENT_OF_UNIT = "That treatment is not one of this unit; pick it from the list again."
NO_CERTIFICATE_OF_UNIT = "That certificate is not one of this unit; pick it from the list again."
FOUND_SINCE = "looked at since: {found}"
ALREADY_SO = "That is recorded of this return already."
NOT_SOLD = "Unit {tag} is not sold; there is no sale to withdraw."

NO_SUCH_FILE = "“{sha256}” is no SHA-256 of a kept file; look it up again in the records."
PHOTO_TOO_LARGE = "That photo is larger than {megabytes} MB; save it smaller and add it again."
NO_PHOTO = "That file is no photo that can be kept; save it as JPEG, PNG or WebP and add it again."

# --- back-ups, restoring and export -----------------------------------------------------------------------

NO_BACK_UP_MADE = "The records are damaged ({problem}), no back-up was made; restore an earlier one."
BROKEN_REFERENCE = "{table} refers to a row of {other} that is not there"
NO_SUCH_BACK_UP = "There is no back-up {file}; choose a file from the folder backups."
BACK_UP_DAMAGED = "The back-up {file} is damaged ({problem}); choose an earlier one."
EMPTY = "it is empty"
NOTED_UNREADABLE = "{place} cannot be read ({reason}); check its name and that you may read it."
NOTHING_NOTED = "{place} is no export of records; give its folder, or a certificate or a back-up."
EXPORT_NOT_EMPTY = "{folder} is not an empty folder; name a new one for the export."

# --- merging ------------------------------------------------------------------------------------------------

NO_OTHER_RECORDS = "There are no records in {place}; give the folder or the file of the other bench."
OTHER_EMPTY = "{file} holds no records; give the folder or the file of the other bench."
OTHER_DAMAGED = "The other records {file} are damaged ({problem}); merge a back-up of theirs."
OTHER_NOT_OURS = (
    "The other records {file} were changed by another program ({found}); merge a back-up of theirs from before that."
)
OTHER_TOO_LARGE = "The other records {file} are larger than {most} GB; merge a back-up of theirs."
OTHER_TAKES_TOO_LONG = (
    "The other records {file} could not be looked through in {minutes} minutes; merge a back-up of theirs."
)
OTHER_NOT_ORDINARY = "{file} is no ordinary file; give the folder or the file of the other bench."
OTHER_NOT_UTF8 = (
    "The other records hold text in {table} that is not UTF-8; nothing was merged, merge a back-up of theirs."
)
OTHER_LOG = (
    "The log of the other records does not hold ({fault}); nothing was merged, ask the other bench for “restpoint log "
    "verify” and a back-up from before."
)
ROW_REFUSED = (
    "Row {row} of {table} in the other records cannot be believed ({fault}); nothing was merged, have the other bench "
    "look at it."
)
ROW_VALUE = "{column}: {why}"
NO_TEXT = "it is no text"
VALUE_TOO_LONG = "it is longer than {most} characters"
HIDDEN_CHARACTERS = "it has characters that cannot be seen"
NOT_IN_FORM = "it is not written as this program writes it"
UNKNOWN_WORD = "it is not one of the words that there are"
NO_SUCH_NUMBER = "it is no number that can be"
NO_TIME = "it is no time"
IN_THE_FUTURE = "it is in the future"
CONTRADICTION = (
    "Row {row} of {table} says something else in the other records than here, and such a row never changes; nothing "
    "was merged, look at both with “restpoint log verify”."
)
NOT_IN_THEIR_LOG = (
    "Row {row} of {table} in the other records is not as their log has it; nothing was merged, have the other bench "
    "look at it with “restpoint log verify”."
)
WOULD_BREAK_LOG = (
    "With the other records the log here would not hold any more ({fault}); nothing was merged, have the other bench "
    "look at theirs with “restpoint log verify”."
)
CHANGED_MEANWHILE = "The records changed while they were looked at; nothing was merged, merge again."
TABLE_NAMES = {"lots": "Lot", "units": "Unit"}
COLUMN_NAMES = {
    "name": "name",
    "bought_on": "date of purchase",
    "seller": "seller",
    "cost_minor": "cost in minor units",
    "currency": "currency",
    "note": "note",
    "tag": "tag",
    "model": "model",
    "lot_id": "lot",
    "serial": "serial number",
    "vendor_id": "vendor id",
    "product_id": "product id",
    "sheet": "sheet",
    "claim": "claim",
    "claim_state": "state of the claim",
    "condition": "condition",
    "becomes": "what becomes of it",
    "rest_until": "rest date",
    "sold_minor": "price in minor units",
    "sold_on": "day of the sale",
    "channel": "channel",
    "fees_minor": "fees in minor units",
    "shipping_minor": "shipping in minor units",
    "source": "source",
    "postage_minor": "postage in minor units",
    "expected": "units expected",
    "accessories": "accessories",
    "box": "box",
    "created_at": "when it came in",
}
WOULD_CHANGE = "{table} {name}: {column} becomes “{after}” (here “{before}”)."
WITHDRAWN_WHAT = {
    "result": "result",
    "treatment": "treatment",
    "note": "note",
    "part": "part on the shelf",
    "unit": "unit itself",
    "lot": "lot",
    "override": "reason for less rest",
    "move": "piece taken from the shelf",
    "comeback": "return by the buyer",
    "certificate": "certificate",
}
WOULD_WITHDRAW = "Unit {name}: a {what} is withdrawn: {reason}."
WOULD_WITHDRAW_LOT = "Lot {name} is withdrawn: {reason}."
LOT_WOULD_COUNT_AGAIN = "Lot {name}, which was withdrawn, counts again: {reason}."
COUNTS_AGAIN = "again"
WOULD_COUNT_AGAIN = "Unit {name}: a withdrawn {what} counts again: {reason}."
WOULD_COUNT = "Unit {name}: visit {before} becomes visit {after}, in the order in which they began."
IN_OUR_NAME = (
    "{count} entry of that log stands under the name of this bench and is not here: so it is after an older back-up "
    "of this bench was put back, else somebody wrote it in its name.",
    "{count} entries of that log stand under the name of this bench and are not here: so it is after an older back-up "
    "of this bench was put back, else somebody wrote them in its name.",
)
OTHER_STANDING = "Another result would stand than now for: {tags}."
WOULD_END = "Unit {name}: visit {number} ends {at}."
WOULD_COME = "Would come in: {units}, {visits}, {results}, {treatments}, {files}."
LOG_ALONE = "Nothing new there but entries of their log."
NOTHING_NEW = "Nothing new there: everything is here already."
SHARE_LEADS_ELSEWHERE = (
    "{path} is a link or leads out of the shared folder; remove it there, then sync again, the folder of a bench is "
    "made anew."
)
SAME_RECORDS = "These are the records that are open already; give those of the other bench."
MERGED = "Merged: {units}, {visits}, {results}, {treatments}, {files} came in."
VISITS = ("visit", "visits")
RESULTS = ("result", "results")
TREATMENTS = ("treatment", "treatments")
FILES = ("file", "files")
MISSING_OVER_THERE = (
    "{count} capture or photo was missing or damaged over there.",
    "{count} captures or photos were missing or damaged over there.",
)
DOUBLE_TAGS = (
    "This tag is now on two units, relabel one of them: {tags}.",
    "These tags are now on two units, relabel one of each: {tags}.",
)

# --- the log --------------------------------------------------------------------------------------------------

PAST_THE_LOG = (
    "{count} row of {table} is not in the log: it was put in past it.",
    "{count} rows of {table} are not in the log: they were put in past it.",
)
MORE_FAULTS = "{count} more."
ENTRY_MISSING = "Entry {entry} of bench {bench} is missing."
ENTRIES_MISSING = "Entries {first} to {last} of bench {bench} are missing."
CARRIED_ON_TWICE = "Bench {bench} was carried on in two copies from entry {entry}; both are kept."
ENTRY_CHANGED = "Entry {entry} of bench {bench} ({at}) was changed."
ENTRY_OUT_OF_LINE = "Entry {entry} of bench {bench} does not follow the one before it."
ENTRY_TWICE = "Entry {entry} of bench {bench} is there twice."
ENTRY_NOT_READABLE = "Entry {entry} of bench {bench} cannot be read."
ADDED_TWICE = "Entry {entry} of bench {bench} adds row {row} of {table} a second time."
ROW_MOVED = "Row {row} of {table} was given another {columns} later, which never changes."
ROW_GONE = "Row {row} of {table} is gone."
ROW_CHANGED = "Row {row} of {table} was changed after it was recorded."
ROW_NOT_AS_LOGGED = "Row {row} of {table} is not as the log has it ({columns})."
ROW_PAST_THE_LOG = "Row {row} of {table} is not in the log: it was put in past it."
NOT_COUNTED_THROUGH = "The rows of {table} are not counted through: some were removed or renumbered."
OUT_OF_ORDER = "The rows of {table} do not stand in the order of the log."
CAPTURE_GONE = "The file {sha256} is gone from {folder}."
CAPTURE_CHANGED = "The file {sha256} in {folder} is not the one that was recorded."
FILE_DAMAGED = "The records file itself is damaged ({problem})."
MISSING_SINCE_BEFORE = (
    "{count} capture or photo was missing already when the rows came in; it is no loss since.",
    "{count} captures or photos were missing already when the rows came in; they are no loss since.",
)
STATES_KEPT_FROM = (
    "The log holds the state of every row from {day} on (bench {bench}); "
    "what was changed past it before, it cannot tell."
)
STATES_NOT_KEPT = (
    "The log of these records does not hold the state of every row, as later versions do; open them once for writing "
    "to begin with that."
)
STATE_FOUND = "Row {row} of {table} was not as the log had it when it was found on {day}; it is held as found since."
HEAD_IS_OTHER = "{where} names another entry {entry} of bench {bench}: the log was written anew since."
HEAD_IS_GONE = (
    "{where} names entry {entry} of bench {bench}, which is not here: the log was cut off, "
    "or it is that of other records."
)
