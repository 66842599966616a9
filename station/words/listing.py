"""The text of an offer: what is put into the shop's template, and why it cannot be used."""

NO_FAULT = "no fault found"
UNREADABLE = "{path} cannot be read ({reason}); mend or remove it, then copy the text again."
NO_SUCH_FIELD = "{path} names “{field}”, which is not known; it may name {fields}."
NOT_A_TEMPLATE = "{path} is no template ({reason}); a brace of its own is written twice."
TOO_LONG = "{path} is longer than {most} signs; shorten it."
PICTURE_NOT_WRITTEN = (
    "{path} could not be written ({reason}); make room or allow writing there, then copy the text again."
)
NO_CERTIFICATE = "{path} carries no certificate of this version; write it again, then copy the text."
ALTERED = "{path} is not as it was signed ({reason}); copy the text from the file as it was written, or write it again."
REPLACED = "The certificate {number} was replaced by {newer}; copy the text of that."
RECORD_CHANGED = (
    "The record of {tag} says something else than its certificate {number}; C writes a new one, then the text can be "
    "copied."
)
PICTURE = "{model} {tag}, certificate {number}"
PAGE_SENT = "the page check.html, which comes with it"
"""where the shop has told no place of its own for the page"""
PARTLY = "{control} ({said})"
NEAR_LIMIT = "{control} (near the limit)"
NEAR_LIMIT_SAID = "{control} (near the limit: {said})"
NOT_SINCE = "{check} (not since the work on it)"
PAGE_LEFT_OUT = (
    "The address of the page that checks certificates cannot be used and was left out; set it anew in the settings "
    "(F11, or “restpoint set page”)."
)
COPIED = "The text for the offer is copied; pictures of the sticks lie beside the certificate."
IS_WITHDRAWN = "The certificate of {tag} was withdrawn ({reason}); C writes a new one, then the text can be copied."
NOT_WRITTEN_YET = "There is no certificate of {tag} yet; C writes it, then the text can be copied."
