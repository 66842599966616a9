"""Whether a certificate is genuine: what was changed in its file, and why it cannot be checked."""

# --- a file that cannot be checked ----------------------------------------------------------------------

UNREADABLE = "This PDF cannot be checked: {problem}; ask the seller for the file as the bench wrote it."
NOT_LOOKED_INTO = "The file could not be looked into ({reason}); free some memory and try again."
DAMAGED = "it is damaged or built to do harm"
TAKES_TOO_LONG = "reading it takes longer than {seconds} seconds"
REFUSED = {
    "encrypted": "it is encrypted",
    "attachments": "it carries more than a certificate does ({attachments} attachments, {megabytes} MB)",
    "pages": "it has more than {pages} pages",
    "text": "it holds more text than a certificate does",
}
"""why the process that looks into a file does not read on"""
NO_CERTIFICATE = (
    "This PDF carries no certificate of Restpoint; a print or a copy saved by another program loses it, so ask the "
    "seller for the file as the bench wrote it."
)
NEWER = "This certificate was signed by a newer Restpoint; install the newest version, then check it."

# --- what was changed -------------------------------------------------------------------------------------

NO_PDF_ANY_MORE = "it can no longer be read as a PDF"
NO_SIGNATURE = (
    "it carries no signature: it was written unsigned, or the signature was taken out; so it proves nothing about who "
    "wrote it"
)
SAME_WORDS = (
    "the words on the pages are those that were signed; drawings, colours and anything laid over them cannot be "
    "compared in a file that was saved again"
)
NO_SEAL = "the signature over the whole file is missing: it was saved again or changed after it was signed"
SEAL_BROKEN = "the file is not as it was signed: some byte of it was changed"
BYTES_ADDED = (
    "{count} byte was added after it was signed: something was laid over it or written into it",
    "{count} bytes were added after it was signed: something was laid over it or written into it",
)
TWO_KEYS = "seal and signature are by different keys"
ATTACHMENT_MISSING = "the attachment {name} is missing"
ATTACHMENT_TWICE = "there is more than one attachment {name}"
WITHOUT_A_NAME = "without a name"
ATTACHMENTS_ADDED = ("an attachment was added: {names}", "attachments were added: {names}")
MANY_ATTACHMENTS_ADDED = "attachments were added: {names} …"
SIGNATURE_BROKEN = "the signature in {name} does not hold"
OTHER_CONTENT = "the content ({name}) is not the one that was signed"
NOT_OUR_CONTENT = "the content ({name}) is not written as a certificate is"
PAGE = ("page", "pages")
OTHER_PAGES = "it had {pages} when it was signed and has {now} now"
PAGE_CHANGED = "page {page} was changed: where it now says something else, “{signed}” was signed"
PAGE_SAYS_MORE = "page {page} was changed: it says more than was signed (“{more}”)"
