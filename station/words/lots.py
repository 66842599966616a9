"""What a lot comes to, and what to do next with a unit of it."""

# --- whether it pays --------------------------------------------------------------------------------

NO_UNIT_YET = "There is no unit in this lot yet."
NO_PURCHASE_PRICE = "No purchase price is written down, so nobody can say whether the lot pays."
SO_FAR_ABOVE = "So far the lot is {result} above its costs; what is still here is not counted."
SO_FAR_SHORT = "So far the lot is {result} short of its costs; what is still here is not counted."
HAS_PAID = "The lot has paid: {result} above all its costs."
HAS_PAID_AND_MORE = (
    "The lot has paid: {result} above all its costs, and what is still here should bring {expected} more."
)
SHOULD_PAY = "The lot should pay: {result} are still out, and what is still here should bring {expected}."
PAYS_WITH_WORK = (
    "The lot pays only with the work below: {outlook} short as it stands, {worked} above its costs with it."
)
NOT_ALL_ARE_IN = (
    "{here} of the {expected} units are in: with these {outlook} are still out. Whether the lot pays shows when all "
    "are here."
)
DOES_NOT_PAY = "The lot does not pay: {outlook} short as it stands, and still {worked} short with the work below."

# --- what is not in the figures ---------------------------------------------------------------------------

WRITE_PURCHASE_PRICE = "The lot has no purchase price: E writes it down."
SOLD_WITHOUT_PRICE = "Sold without a price: {tags}; B on the unit writes it down."
TWO_CURRENCIES = (
    "The lot is in {lot} and the fault guide in {guide}: minutes of work and what is still here are not counted in "
    "money."
)
OTHER_CURRENCIES = "Materials in {currencies} are not counted."
TO_TEST_FIRST = "To be tested first: {waiting} of {units}, counted as sold as is until then."

# --- shares and donors --------------------------------------------------------------------------------------

SHARE = "{k} of {n} ({low}–{high} %)"
GIVES = "gives {parts}"
PART_TO_UNIT = "{part} to {tag}"

# --- the next step with a unit --------------------------------------------------------------------------------

TEST_INTAKE = "Test it: intake"
CLAIM = "claim: {claim}"
NOTHING_STANDS = {
    "untested": "nothing was tested yet",
    "undecided": "no check has come to a verdict yet",
    "skipped": "what had a verdict was skipped since",
}
SUSPECTED = "found and not tested yet: {checks}"
ONLY_LOOKED = "only a first look was done"
GO_ON = "Go on with its visit"
VISIT_NOT_FINISHED = "the {kind} visit is not finished"
NOT_TESTED_SINCE = "nothing was tested since: {treatment}"
REST_UNTIL = "Let it rest until {day}"
THEN_SECOND_TEST = "then its second test"
SECOND_TEST = "Second test"
HAS_RESTED = "it has rested until {day}"
CALL_READY = "Call it ready"
BORDERLINE = "nothing failed; borderline: {checks}"
NOTHING_FOUND = "nothing was found in what was tested"
