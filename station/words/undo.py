"""Mistakes taken back: the offer after a save, what is withdrawn later with a reason, and corrections of a unit."""

AT_ONCE = "undone at once"
"""the reason that stands in the records"""

# --- the offer after a save -----------------------------------------------------------------------------

UNDO_BUTTON = "{key} undo"
UNDO_TOLD = "Take back what was saved last; it stays in the log, struck through."
NOTHING_TO_UNDO = "Nothing was saved in the last seconds; {key} withdraws what is older, with a reason."
SAVED = "Saved: {what}."
TAKEN_BACK = "Taken back; it stands struck through in the log."
TAKEN_BACK_ALONE = "Taken back."
TAKEN_BACK_OVER = "Taken back; it stands struck through in the log. That visit is over: V begins another one."
LOOKED_OVER = "{tag} was looked over, nothing that keeps it from being plugged in"
MARKED = "{check}, {outcome}"
TREATED = "{kind} on {tag}"
WORK_DROPPED = "{kind} on {tag} not done after all"
NOTED = "note on {tag}"
UNIT_ADDED = "unit {tag}"
UNIT_CHANGED = "unit {tag} changed"
UNIT_BECAME = "unit {tag}: {becomes}"
PART_ADDED = "{part} on the shelf"
WITHDRAWN = "withdrawn: {what}"
CORRECTED = "unit {tag} corrected"

# --- withdrawing later -------------------------------------------------------------------------------------

WITHDRAW = "Withdraw something of {tag}"
WITHDRAW_WHAT = "What should not be there"
WITHDRAW_REASON = "Why (needed)"
WITHDRAW_HINT = "wrong unit in hand · logged twice"
WITHDRAW_SEARCH = "more with ↓ below the last, or type a word of them"
NOTHING_FOUND = "No entry has these words; type others."
REASON_NEEDED = "Say why: one line is enough."
WITHDRAW_NOTE = "It stays in the log, struck through with the reason, and counts nowhere."
NOTHING_HERE = "Nothing is recorded of this unit that could be withdrawn."
WITHDRAW_PART = "Withdraw {part} from the shelf"
ENTRY = "{day}: {what}"
SALE = "sale for {price}"
SALE_WITHOUT_PRICE = "sale"
WHOLE_UNIT = "the unit itself, with everything of it"
NO_PART_CHOSEN = "Choose the part on the shelf that should not be there."

# --- in the log of the record pane ----------------------------------------------------------------------------

STRUCK = "withdrawn {day}: {reason}"
STRUCK_BY = "withdrawn {day} by {person}: {reason}"
VALUE = "{name}: {value}"
NO_VALUE = "none"
LOT_OTHER = "another"
VALUE_NAMES = {
    "tag": "tag",
    "model": "model",
    "sheet": "model sheet",
    "lot_id": "lot",
    "serial": "serial number",
    "vendor_id": "vendor id",
    "product_id": "product id",
    "claim": "claim",
    "claim_state": "claim is",
    "condition": "condition",
    "becomes": "becomes",
    "rest_until": "rest until",
    "sold_minor": "sold for",
    "sold_on": "sold on",
    "channel": "channel",
    "fees_minor": "fees",
    "shipping_minor": "shipping",
    "accessories": "accessories",
    "box": "box",
    "cost_minor": "paid for it",
}
UNIT_ITSELF = "This unit was withdrawn"

# --- correcting a unit ------------------------------------------------------------------------------------------

CORRECT = "Correct what {tag} is"
TAG = "Tag"
MODEL = "Model"
MODEL_HINT = "as a model sheet calls it: {models}"
LOT = "Lot"
NO_LOT = "no lot"
CORRECT_REASON = "Why (needed)"
CORRECT_REASON_HINT = "label read wrong"
CORRECT_NOTE = "What stood there stays in the log; certificates written before keep what they said."
NOTHING_CORRECTED = "Nothing was changed; type the right tag or model, or choose the right lot."
