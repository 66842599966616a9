"""The list of certificates: what it says of each, how it is checked, and why it cannot be made or read."""

NO_LIST = "This is no list of certificates; ask the seller for the file that “restpoint certificates” wrote."
NEWER = "This list was written by a newer Restpoint; install the newest version, then check it."
NONE_YET = "No certificate was written here yet."
LINE = "{number}  {day}  {tag}  {state}"
STATES = {"genuine": "genuine", "replaced": "replaced by {by}", "withdrawn": "withdrawn: {reason}"}
WITHDRAWN_AND_REPLACED = "withdrawn: {reason}; replaced by {by}"
MISSING = "Missing or double: number {number} of bench {bench}; run “restpoint log verify”."
WRITTEN = "The signed list of {count} is in {path}. Put it beside the checking page, or send it along."
CERTIFICATES = ("certificate", "certificates")
LOST = (
    "Issued after the back-up that these records come from: {numbers}. Keep the files in {folder}: by them the list "
    "goes on naming these certificates. Withdrawals made since must be entered again; move the file of one that was "
    "withdrawn elsewhere, and the list leaves it out, so that a buyer is told not to rely on it."
)
FROM_TO = "{count} certificates, {first} to {last}"
FORGOTTEN = (
    "By the list signed on {day}, {number} of {tag} was withdrawn ({reason}); these records do not know it. Withdraw "
    "it again in the record of the unit; until then the list says it for you."
)
CLOCK_BEFORE_LIST = (
    "The last list was signed on {before} and the clock says {now}: a list that looks older would not count. Set the "
    "clock, then write it again."
)
NOT_WRITTEN = "The list could not be written to {path} ({reason}); choose another place, then write it again."
NO_KEY = "The list is not written without a signature: {problem}"

# --- verify ---------------------------------------------------------------------------------------------

ALTERED = "The list is not as it was signed; ask the seller for the list as the shop wrote it."
LIST_ALTERED = "The list {path} is not as it was signed; ask the seller for the list as the shop wrote it."
UNKNOWN_KEY = "A list by “{shop}”, unchanged since it was signed, but by a key that is not known here: {fingerprint}"
GENUINE = "The list of “{shop}” as it was on {day}, signed with the key {fingerprint}; unchanged since."
COUNTED = "{count}: {genuine} genuine, {replaced} replaced, {withdrawn} withdrawn"
OTHER_KEY = (
    "The list is signed with another key than the certificate, by another bench or shop, so nothing is said by it; ask "
    "the seller for the list of the bench whose key is {fingerprint}."
)
OTHER_BENCH = (
    "The list of {day} is of another bench of the shop: none of its numbers begins with {bench}; ask for the list of "
    "the bench that wrote this certificate."
)
NOT_LISTED = "The list of {day} does not name this certificate: it was written later, or not by this shop."
LEFT_OUT = (
    "The list of {day} does not name this certificate, though it says that it was written before: ask the shop why, "
    "and do not rely on it until then."
)
STILL = "By the list of {day} it still holds; a later list may say otherwise."
REPLACED = "By the list of {day} it was replaced by {by}: ask the seller for that one."
WITHDRAWN = "By the list of {day} it was WITHDRAWN: {reason}. Do not rely on it."
