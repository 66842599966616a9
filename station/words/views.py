"""The views beside the bench: Lots, Shelf and Due."""

# --- the lots ---------------------------------------------------------------------------------------------

LOTS = "Lots"
LOTS_KEYS = (
    "Enter: open · Tab: next table · G: give up · B: becomes · L: new lot · E: edit it · O: a spreadsheet · "
    "I: new units · M: money · W: plan · Ctrl+P: labels · /: search"
)
NARROW_KEYS_ON_LOT = "F6: the lots · Tab: next table · ?: all keys"
NARROW_KEYS_ON_LOTS = "F6: the lot · Tab: next table · ?: all keys"
LOTS_HEADS = ("Lot", "Units", "Open", "Bought")
SEARCH = "Search units"
SEARCH_HOW = "By tag, model, serial number or claim; among all lots"
WITHOUT_LOT = "Without a lot"
WITHOUT_LOT_TOLD = "These units belong to no lot, so nothing is reckoned of them."
NO_LOT = "No lot yet: L writes up a purchase of several units."
NO_UNIT_CHOSEN = "Put the cursor on a unit first: Tab goes through the tables."
NO_DONOR_CHOSEN = "Put the cursor on a unit that is better given up; of any other one B says what it becomes."
NO_PART_CHOSEN = "Put the cursor on a part that a unit waits for."

# --- one lot ------------------------------------------------------------------------------------------------

LOT = "{lot} · bought {day}"
LOT_OF_SELLER = "{lot} · bought {day}, {seller}"
WORKING = "Working it out …"
WORKING_ANEW = "Being worked out anew …"
PAID = "Paid"
WORK = "Work, {minutes} min"
MATERIALS = "Materials"
SOLD = "Sold, {units}"
FEES = "Fees and shipping"
RETURNS = "Returns"
SO_FAR = "So far"
STILL_HERE = "Still here, as it stands"
OUTLOOK = "Outlook, as it stands"
OUTLOOK_WITH_WORK = "Outlook with the work"
PASSED_AT_INTAKE = "Passed at intake: {share}"
CURED_BY_CLEANING = "cured by cleaning: {share}"
SHARES = "{shares}; 95 % intervals."
BETTER_GIVEN_UP = "Better given up for parts: {tags}."
PARTS_WAITED_FOR = "Parts waited for: {count}, on the shelf: {here}."

# --- the tables of a lot --------------------------------------------------------------------------------------

WORK_TITLE = "Work on next · Enter: open the unit"
WORK_HEADS = ("Unit", "Next step", "Minutes", "Expected gain")
NO_WORK = "Nothing is left to work on: every unit has become something."
PART_IS_HERE = "{step} · part on the shelf"
COLON = ": "
"""between a unit, its next step and why"""
DONORS_TITLE = "Better given up for parts · G: give it up"
DONORS_HEADS = ("Unit", "Gives", "Expected gain")
NO_DONORS = "No unit is worth more as a donor of parts."
PART_FOR_UNIT = "{part} → {tag}"
DONOR_GIVES = "{tag} {gives}"
PARTS_TITLE = "Parts that units wait for · A: one has come, put it on the shelf"
PARTS_HEADS = ("Unit", "Waits for", "Where it is")
NO_PARTS = "No unit waits for a part."
ON_SHELF = "on the shelf: {count}"
ON_SHELF_FROM = "on the shelf: {count}, from {giver}"
IN_DONOR = "in {giver}, if it is given up"
TO_BUY = "not here: buy it"
UNITS_TITLE = "Units · B: what it becomes"
UNITS_HEADS = ("Tag", "Model", "Claim", "The claim is", "Rest until", "Grade", "Becomes")
NO_UNITS = "No unit yet: I writes some up, O takes them from a spreadsheet."
UNITS_FOUND = "Units found: “{text}”"
NO_UNIT_FOUND = "No unit is like that."

# --- the shelf, and what is due -------------------------------------------------------------------------------

SHELF = "Shelf"
SHELF_KEYS = "I: put a part on the shelf"
SHELF_EMPTY = (
    "Nothing lies on the shelf. Here belong good parts that a treatment can take: those of units that were given up "
    "(F2, then G), and those that were bought or lie in a drawer (I)."
)
SHELF_HEADS = ("Part", "Fits", "How many", "Cost of each", "Note")
DUE = "Due for a second test"
DUE_KEYS = "Enter: open the unit"
DUE_EMPTY = (
    "No unit rests. A treated unit gets a rest date, three days later unless you change it (E on the unit), and stands "
    "here until its second test, since a cleaned contact can fail again."
)
DUE_HEADS = ("Tag", "Model", "Rests since", "Until", "Second test")
READY_NOW = "ready now"
STILL_RESTING = "still resting"
