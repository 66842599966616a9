"""What of a unit is open when it is sold or certified."""

NOT_TESTED = ("{count} of {every} checks is not tested.", "{count} of {every} checks are not tested.")
FAULTS = ("{count} check failed.", "{count} checks failed.")
BORDERLINE = ("{count} result is borderline.", "{count} results are borderline.")
UNNAMED = (
    "The unit says it has {count} control that its sheet does not name.",
    "The unit says it has {count} controls that its sheet does not name.",
)
RESTS = "It was treated, and its second test is still to come."
NOT_DESCRIBED = "No model sheet says what is to be tested of it."
SOLD_AS = {
    "passed": "as passed",
    "faults": "with declared faults",
    "incomplete": "incomplete: not tested to the end",
}
SALE_OPEN = "It would be sold {kind}. {points}"
ASK_PRICE = "Write what it was sold for; Enter once more saves it without a price."

CERTIFICATE = "Certificate of {tag}"
CERTIFICATE_KEYS = "Enter: write it · Esc: back"
CERTIFICATE_KEYS_LOOK = "↑ ↓ or a digit: choose · I: the reports behind it · Enter: write it · Esc: back"
DECLARED = "What it will declare"
DECLARED_FIRST = "What it will declare, the first of them"
CHECK_RUNS = "A check is running: its result will not be in it."
REPLACES = "It replaces certificate {number} of {day}, which does not hold any more then."
SAYS_INCOMPLETE = "The certificate will say incomplete."
