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
NOT_WRITTEN = "The list could not be written to {path} ({reason}); choose another place, then write it again."
NO_KEY = "The list is not written without a signature: {problem}"

# --- verify ---------------------------------------------------------------------------------------------

ALTERED = "The list is not as it was signed; ask the seller for the list as the shop wrote it."
LIST_ALTERED = "The list {path} is not as it was signed; ask the seller for the list as the shop wrote it."
UNKNOWN_KEY = "A list by “{shop}”, unchanged since it was signed, but by a key that is not known here: {fingerprint}"
GENUINE = "The list of “{shop}” as it was on {day}, signed with the key {fingerprint}; unchanged since."
COUNTED = "{count}: {genuine} genuine, {replaced} replaced, {withdrawn} withdrawn"
OTHER_KEY = "The list is signed with another key than the certificate, so nothing is said by it."
NOT_LISTED = "The list of {day} does not name this certificate: it was written later, or not by this shop."
LEFT_OUT = (
    "The list of {day} does not name this certificate, though it says that it was written before: ask the shop why, "
    "and do not rely on it until then."
)
STILL = "By the list of {day} it still holds; a later list may say otherwise."
REPLACED = "By the list of {day} it was replaced by {by}: ask the seller for that one."
WITHDRAWN = "By the list of {day} it was WITHDRAWN: {reason}. Do not rely on it."
