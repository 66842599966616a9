"""The plan for a lot: what becomes of each unit, in which order, and what more hours or other prices would change."""

# --- what cannot be planned ---------------------------------------------------------------------------------

NO_NUMBER_OF_HOURS = "“{text}” is no number of hours; type it like 8 or 6.5, or nothing for as many as it takes."
NEGATIVE_HOURS = "There cannot be less than no hours; type 0 or more, or nothing for as many as it takes."
TOO_MANY_HOURS = (
    "More than {most} hours is more than a plan can look ahead; type fewer, or nothing for as many as it takes."
)
NO_LOT = "Put the cursor on a lot first."
EMPTY_LOT = "There is no unit in {lot} yet, so there is nothing to plan: write some up first (I), or import them (O)."
NOTHING_OPEN = "Every unit of {lot} has become something, so there is nothing to plan."
ALL_TO_TEST = "Nothing can be planned before it is tested: begin with {tags}."
NO_PRICES = "No unit of {lot} brings anything at your prices; say what one brings, with restpoint set price.ready."
OTHER_CURRENCY = (
    "{lot} is in {lot_currency} and your prices are in {currency}; plan it once both are in the same "
    "(restpoint set currency)."
)

# --- what becomes of a unit ---------------------------------------------------------------------------------

KINDS = {
    "repair": "repair it",
    "ready": "call it ready",
    "rest": "second test",
    "sell": "sell it as it is",
    "donor": "give it up for parts",
}
DEED = "{part}: {title}"
DEED_IN_SO_MANY = "if it comes to that ({chance} %), {part}: {title}"
DEEDS = "; "
"""between treatments"""
PART_NEW = "{part} new, {cost}"
PART_FROM_SHELF = "{part} from the shelf"
PART_FROM_UNIT = "{part} from {giver}"
NEW = "new"
FROM_SHELF = "shelf"
PERHAPS = "perhaps {source}"
GIVES = "{part} for {tag}"
ENDS = "Ready in {ready} %, sold as it is in {as_is} %, for parts in {as_parts} %; {more} more than as it is."
REPAIR_TOLD = "{tag}: {does}. {ends}"
PARTS_TOLD = "{told} Parts: {parts}."
GIVE_UP_TOLD = "{tag} gives {gives}."
GIVES_NOBODY_TOLD = "{tag} brings more for its parts than as it is; no other unit needs them."
READY_TOLD = "{tag}: nothing was found in what was tested."
SECOND_TEST_TOLD = "{tag}: its second test, from {day} on; that it holds is taken for granted here."
SELL_TOLD = "{tag}: no repair of it is worth its hours and parts in this plan."

# --- the whole of it ----------------------------------------------------------------------------------------

TITLE = "Plan for {lot}, {currency}"
KEYS = "Enter: work it out · Tab: next table · ↑ ↓: rows · Esc: back"
KEYS_ON_UNIT = "Enter: open the unit · Tab: next table · ↑ ↓: rows · Esc: back"
KEYS_WORKING = "Enter: stop, and keep the best so far · Esc: back"
HOURS = "Hours at hand (nothing: as many as it takes)"
NONE_YET = "There is no plan yet; Enter works it out."
WORKING = "Working it out …"
TODO_TITLE = "What to do, in this order"
TODO_HEADS = ("Unit", "What to do", "Parts", "Minutes", "Ready in", "Brings")
PERCENT = "{share} %"
MOVES_TITLE = "If something moves"
MOVES_HEADS = ("What moves", "It brings", "What changes")
VERDICT = "Of {hours} h it takes {takes}: {counts}. It should bring {value}, {more} more than without work."
VERDICT_ALL = "It takes {takes} h: {counts}. It should bring {value}, {more} more than without work."
COUNTS = {
    "repair": ("{n} repaired", "{n} repaired"),
    "ready": ("{n} called ready", "{n} called ready"),
    "rest": ("{n} tested again", "{n} tested again"),
    "sell": ("{n} sold as it is", "{n} sold as they are"),
    "donor": ("{n} given up for parts", "{n} given up for parts"),
}
BEST = "No other plan brings more."
NOT_YET_BEST = "The best so far; another plan could bring up to {gap} more."
NO_BOUND = "The best so far; how much more another could bring is not known yet."
STOPPED = "Stopped. {quality}"
AN_HOUR = "One more hour would bring {worth} more, after what it costs."
AN_HOUR_NOTHING = "One more hour would bring nothing more."
AN_HOUR_NOT_KNOWN = "What one more hour would bring was not worked out to the end."
TO_BUY = "To buy: {parts}."
BUY = "{part} ({title}) for {tags}"
NO_DONORS = "No unit is worth giving up for its parts."
OTHER_MONEY = "Not taken from the shelf, since paid in another currency: {parts}."
TO_TEST = "Not in the plan, since they must be tested first: {tags}."

# --- what moves ---------------------------------------------------------------------------------------------

PRICE_UP = {
    "ready": "ready units bring {percent} % more",
    "as_is": "units as they are bring {percent} % more",
    "parts": "units for parts bring {percent} % more",
}
PRICE_DOWN = {
    "ready": "ready units bring {percent} % less",
    "as_is": "units as they are bring {percent} % less",
    "parts": "units for parts bring {percent} % less",
}
CHANGES_NOTHING = "nothing"
CHANGES_NOT_KNOWN = "not worked out to the end"
CHANGE = "{tag}: {now} instead of {before}"
SHORT_KINDS = {
    "repair": "repair",
    "ready": "ready",
    "rest": "second test",
    "sell": "as it is",
    "donor": "for parts",
}
CHANGES_COURSE = "{tag}: another repair"

# --- the command --------------------------------------------------------------------------------------------

PLAN = "say what to do with each unit of a lot, within the hours at hand"
PLAN_LOT = "the lot"
PLAN_HOURS = "hours at hand (default: as many as it takes)"
HOURS_NAME = "HOURS"
NUMBERED = "{number}. {told}"
MOVE = "{what}: {brings}; changes: {changes}"
