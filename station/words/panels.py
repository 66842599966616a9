"""The panels over the window: what is asked before something is marked, written up, given up or put back."""

# --- every panel --------------------------------------------------------------------------------------

KEY_BUTTON = "{key} {what}"
SAVE_KEYS = "Enter: save · Esc: back"
LINES_KEYS = "Tab: next line · Enter: save · Esc: back"
NOTHING_KEYS = "Enter or Esc: back"
REASON = "Reason"
TICKED = "ticked: {name}, {remark}"
NOT_TICKED = "not ticked: {name}, {remark}"
NO_AMOUNT = "“{text}” is not an amount; write it like {example}."
AMOUNT_TOO_LARGE = "That is too much; write an amount of at most {most}."
NO_COUNT = "“{text}” cannot be taken; write a whole number from {least} to {most}."
NO_DATE = "“{text}” is not a date; write it like {example}."
NO_LATER_DATE = "“{text}” is not a date; write it like {example}, or +3 for in three days."

# --- a check of the visit -------------------------------------------------------------------------------

STEP = "{control}, {check}"
MARK = "Mark by hand: {step}"
MARK_KEYS = "1–3: outcome · Tab: reason · Enter: save · Esc: back"
MARK_OUTCOME = "Outcome"
MARK_REASON = "Reason (kept in the record and on the certificate)"
MARK_REASON_HINT = "What you saw or measured"
MARK_NEEDS_REASON = "A mark by hand needs a reason: write what you saw."
STRENGTH = "How hard to press: {control}"
STRENGTH_LAST_BUTTON = "How hard to press: the button pressed last"
STRENGTH_LONG = "light, 100 presses"
LONG_BY_FINGER = "The long form is pressed by the finger: leave the mass empty."
STRENGTH_KEYS = "1–4: strength · Tab: mass · Enter: make it the next check · Esc: back"
STRENGTH_CHOICE = "Strength"
STRENGTH_MASS = "Mass set on the control instead of the finger, in grams"
STRENGTH_NO_MASS = "none: the finger presses"
MASS_OUT_OF_RANGE = "Write the mass in grams, more than 0 and at most {most:g}, like 160."
LOOK = "Look over {tag}: what is it?"
LOOK_KEYS = "1–6: what · Enter: keep it · Q: read · Esc: back"
LOOK_SEEN = "Seen"
LOOK_WORN = "worn or scratched, nothing of these"
SKIP = "Skip: {step}"
SKIP_KEYS = "1–4: reason · or write your own · Enter: skip · Esc: back"
SKIP_REASONS = ("no time now", "part is missing", "not on this unit", "cannot be reached")
SKIP_OWN_REASON = "Another reason"

# --- the visit ------------------------------------------------------------------------------------------

FINISH = "End this visit?"
FINISH_KEYS = "Enter: end the visit · Esc: back"
FINISH_ALL_DONE = "Every check is done."
FINISH_LEFT = ("{count} check stays “{not_done}”.", "{count} checks stay “{not_done}”.")
VISIT = "Start a visit for {tag}"
VISIT_KEYS = "1–5: kind · Enter: start · Esc: back"
VISIT_KIND = "Kind of visit"
VISIT_OPEN = (
    "Its visit “{kind}” of {begun} is not finished and goes on where it stopped. To begin another, end that one "
    "first: F once it goes on."
)
VISIT_OPEN_KEYS = "Enter: go on · Esc: back"

# --- devices, units and back-ups to choose from -----------------------------------------------------------

WHOSE = "This pad is {other}’s; is it {tag}?"
WHOSE_COMES_TO = (
    "With Y all that it reports until it is unplugged is {tag}’s. If it is {other}’s, Esc, and plug {tag} in."
)
WHOSE_KEYS = "Y: yes · Esc: no"
SAMPLE = "Plug in a simulated sample unit"
SAMPLE_KEYS = "a number or the arrows: unit · Enter: plug in · Esc: back"
NO_SAMPLES = "No sample units are installed beside the program."
SILENT = "A device that does not say what it is"
SILENT_KEYS = "a number or the arrows: device · Enter: that one is a game controller · Esc: back"
SILENT_UNOPENED = "None of these is opened until you choose it."
NO_SILENT = "No such device is there. Some units have another mode: a switch, or a key held while plugging in."
DEVICE = "{name}, {vendor:04x}:{product:04x}"
DEVICE_WITH_SERIAL = "{name}, {vendor:04x}:{product:04x}, {serial}"
BACK_UP = "Put a back-up in the place of the records"
BACK_UP_KEYS = "a number or the arrows: back-up · Enter: put it in place · Esc: back"
BACK_UP_SETS_ASIDE = "The records until now are set aside, not lost. A running visit stops."
NO_BACK_UP = "There is no back-up yet; one is made each day the program runs."
FIND = "Find a unit"
FIND_KEYS = "type a part of tag, model or serial · arrows: choose · Enter: open · Esc: back"
FIND_HINT = "Tag, model or serial number"
NOT_FOUND = "No unit is called that."
NOT_FOUND_TYPE_ON = "No unit is called that; type another part of its tag."

# --- a treatment ----------------------------------------------------------------------------------------

TREATMENT = "Treatment of {tag}"
TREATMENT_KEYS = "a number: kind · Tab: part and the rest · Enter: begin, the minutes count · Q: read · Esc: back"
TREATMENT_KIND = "What is done"
PROPOSED = "{treatment} (next)"
NO_ONE_PART = "no one part, or the whole unit"
OTHER_PART = "Another part"
MINUTES_COUNT = "they count themselves"
MINUTES_IF_OTHER = "Minutes, if they were others"
WORK = "{tag}: {treatment}"
WORK_ON_PART = "{tag}: {treatment}, {part}"
WORK_KEYS = "Enter: done, test again · Space: pause, go on · X: not done after all · Q: read · Esc: it goes on"
CLOCK = "{minutes}:{seconds}"
CLOCK_PAUSED = "{clock}, paused"
CLOCK_FORGOTTEN = "The clock ran for hours: write how many minutes it took."
TREATMENT_SOURCE = "The part is taken"
NOT_FROM_SHELF = "not from the shelf"
SHELF_PART = "{part}, {note}"
PART = "Part"
PART_HINT = "which part"
MINUTES = "Minutes, if it is done already"
COST = "Cost, {currency}"
MATERIALS = "Materials"
MATERIALS_HINT = "alcohol, swab …"
NOTE = "Note"

# --- a note and its photo ---------------------------------------------------------------------------------

NOTE_ON = "Note on {tag}"
NOTE_KEYS = "Tab: photo, there the arrows take the newest pictures · Enter: save · Shift+Enter: new line · Esc: back"
NOTE_PHOTO = "Photo"
NOTE_PHOTO_WHERE = "Where the photo goes"
NOTE_PHOTO_CHOICES = ("with the note alone", "on the unit's certificates too")
PHOTO_NEWER = "newer"
PHOTO_OLDER = "older"
NOTE_IS_PHOTO = "photo"
"""what the note says when nothing was written beside the photo"""
NOTE_EMPTY = "The note is empty: write it, or press Esc."
PHOTO_NEWEST = "Down: the newest picture, {file}"
PHOTO_PATH = "a JPEG, PNG or WebP file, or none"

PHOTO_NUMBER = "{number} of {count}, newest first."
PHOTO_NOT_SHOWN = "There is no picture that can be shown."

# --- the unit ---------------------------------------------------------------------------------------------

UNIT_OF_MODEL = "{tag}, {model}"
UNIT_KEYS = "Tab: next line · arrows: choose · Enter: save · Esc: back"
CLAIM = "Claim"
CLAIM_HINT = "what the seller said is wrong"
CLAIM_STATE = "The claim is"
CONDITION_OF_CASE = "Condition of the case"
CONDITION_HINT = "light marks, left grip worn"
REST = "Rest until (second test not before)"
REST_HINT = "{example}, or +3 for in three days"
BECOMES = "Becomes"
SOLD_FOR = "Sold for, {currency}"
UNIT_REASON = "Reason (the certificate prints it)"
UNIT_REASON_HINT = "only to be ready before the rest is over, or to rest for less"
PRICE_BUT_NOT_SOLD = "It has a price: choose “{sold}”, or take the price away."
NEW_UNIT = "New unit"
TAG_ON_LABEL = "Tag on the shelf label"
MODEL = "Model"
MODEL_HINT = "as the sheet names it; filled in when it is plugged in"
CONDITION = "Condition"
LOT = "Lot"
NO_LOT = "no lot"
UNIT_NEEDS_TAG = "A unit needs a tag: write what stands on its shelf label."
TAG_TAKEN = "The tag {tag} is taken; write another one."

# --- lots, parts and sheets ---------------------------------------------------------------------------------

NEW_LOT = "New lot"
LOT_NAMED = "Lot {name}"
LOT_NAME = "Name"
LOT_NAME_HINT = "SM-07"
LOT_BOUGHT = "Bought on"
LOT_SELLER = "Seller"
LOT_SOURCE = "Source"
LOT_SOURCE_HINT = "market place, wholesaler"
LOT_EXPECTED = "Units that should come"
LOT_COST = "Cost"
LOT_POSTAGE = "Postage"
LOT_CURRENCY = "Currency"
LOT_NEEDS_NAME = "A lot needs a name: write one, such as SM-07."
NO_CURRENCY = "“{currency}” is no currency code; write three letters, such as EUR."
NEW_PART = "Put a part on the shelf"
PART_MODEL = "Model it fits"
PART_COUNT = "How many"
PART_COST = "Cost of each, {currency}"
PART_NEEDS_NAME = "A part needs a name: write one, such as left stick module."
SHEET = "Save this model's sheet"
SHEET_KEYS = "Enter: save the sheet · Esc: back"
SHEET_NAME = "Name of the model"
SHEET_EDITED_LATER = "Names, zones and limits can be edited in the file afterwards."
SHEET_NEEDS_NAME = "A sheet needs the model's name."
SHEET_NEEDS_UNIT = "No unit is plugged in: plug one in, then save its sheet."

# --- a unit given up for parts --------------------------------------------------------------------------------

DONOR = "Give {tag} up for parts?"
DONOR_KEYS = "arrows: move · Space: part on or off · Tab: reason · Enter: give it up · Esc: back"
DONOR_GAIN = "Its parts mend {units}; the lot should bring {gain} more than if it is kept."
DONOR_PARTS = "These parts go on the shelf"
DONOR_REASON = "Reason (kept in the log)"
DONOR_NOTE = "from {tag}"
DONOR_FOR = "for {units}"
DONOR_NOT_TESTED = "not tested: try it first"

# --- all keys ---------------------------------------------------------------------------------------------------

KEYS = "All keys"
KEYS_KEYS = "Up, Down: scroll · Esc: back"
KEYS_BENCH = "Bench"
KEYS_UNIT = "Bench, unit"
KEYS_TEACHING = "While teaching"
KEYS_VIEWS = "Views and window"
KEY_IN_VIEW = "{what} ({view})"
KEY_VIEWS = {"lots": "lots", "shelf": "shelf", "due": "due", "evidence": "evidence"}

# --- the shop -----------------------------------------------------------------------------------------

SHOP = "Who issues the certificates?"
SHOP_NAME = "The shop, as buyers know it"
SHOP_CONTACT = "How it is reached"
SHOP_CONTACT_HINT = "site, e-mail or telephone"
SHOP_PAGE = "Where buyers find the page that checks them, check.html"
SHOP_PAGE_HINT = "https://mill-lane.example/check.html"
SHOP_PAGE_NO_ADDRESS = (
    "The page's address begins with https:// and has no blank and no # in it; type it as the browser shows it, or "
    "leave it empty."
)
SHOP_PERSON = "Who sits at the bench"
SHOP_COSTS = "Minutes and costs on certificates"
SHOP_COSTS_CHOICES = ("leave out", "print")
SHOP_MARK = "Its mark, a picture for the certificates"
SHOP_MARK_NOT_SHOWN = "That is no picture that can be shown; choose another one, or leave it empty."
SHOP_PAPER = "Paper of certificates"
SHOP_PAPER_CHOICES = ("as is usual here", "A4", "Letter")
SHOP_NEEDS_NAME = "A certificate needs the name of a shop; type it."
