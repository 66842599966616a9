"""What is proposed for a unit, and why; what is wrong with a fault guide."""

# --- the next treatment -----------------------------------------------------------------------------

TREATMENT_OF_PART = "{part}: {treatment}"
CURES = "cures {cured} of {tried} like it ({low}–{high} %), {effort}"
CURES_ON_A_FURTHER_TRY = "cures about {chance} % on a further try ({low}–{high} %), {effort}"
EFFORT = "{minutes} min"
EFFORT_WITH_OPENING = "{minutes} min and {opening} to open"
EFFORT_AND_PARTS = "{effort}, {cost}"
WITH_EFFORT = "{treatment}, {effort}"
BEFORE_TESTING = "before testing: {treatments}"
BEFORE_TESTING_WHILE_OPEN = "before testing, while it is open: {treatments}"
THEN = ", then "
IF_IT_STAYS = "if it stays: {treatment}"
IF_IT_STAYS_STOP = "if it stays: stop, sell as is or keep for parts"
BORDERLINE_SO = "borderline: {checks}; {reason}"
FAILED_SO = "failed: {checks}; {reason}"
NEXT_CHECK = "; "
MORE_CHECKS = "; {count} more"

# --- testing first, or stopping -------------------------------------------------------------------------

NOT_TESTED_SINCE = "nothing was tested since the last treatment ({treatment})"
STOP_SELL = "Stop: sell as is, with its faults named"
STOP_DONOR = "Stop: keep it as a donor of parts"
STOP_SET_ASIDE = "Stop: set it aside as your local rules say"
STOPPED_BY = "it is {sign}: not to be plugged in, charged or opened any further; another look (Y) lifts that"
NO_FURTHER_TREATMENT = "the guide knows no further treatment for this; stopping brings {stop}"
NOT_WORTH_WHILE = "going on is expected to bring {on} after its costs, stopping brings {stop}"

# --- suspects and swaps -----------------------------------------------------------------------------------

PART_OF_CONTROL = "{control} {part}"
PART_OF_AXIS = "{control} {part}, {axis}"
SWAP_IN = "put in the donor's {parts}; then test again"
SWAP_BACK = "put its own {parts} back; then test again"
SWAP_IN_AND_BACK = "put in the donor's {donors}, put its own {own} back; then test again"
SWAP_NOTHING = "leave it as it is; then test again"

# --- a fault guide that cannot be used ------------------------------------------------------------------------

GUIDE_FILE = "The fault guide"
GUIDE_WRONG = "The fault guide {file}, {place}: {what}; mend that entry."
AT_ITS_HEAD = "at its head"
NUMBERED = "{key} {number}"
VALUE_OF = 'value_of."{model}"'
HAZARD = "hazard {name}"
STEP = "steps, {name}"
SUSPECT = "suspect {number} ({role})"
TREATMENT = "treatment {number} ({kind})"
SUSPECTS = "suspects"
ENTRY = "{place}, {key}"
SHOWS = "{place}, shows {code}"
CURES_ROLE = "{place}, cures {role}"
NEEDS_FORMAT = 'needs format = "{format}" and version = {version}'
SAME_ROLE = "two have the same role"
OF_MAY_NAME = "`of` may name {allowed}"
KIND_IS_ONE_OF = "`kind` is one of {allowed}; a kind of your own says own = true"
KIND_TOO_LONG = "`kind` is a word or a few, of at most {most} characters that can be seen"
CURES_NO_SUSPECT = "cures “{role}”, which is no suspect"
INCLUDES_MAY_NAME = "`includes` may name {allowed}"
NO_HAZARD = "there is no hazard “{name}”"
STEP_IS_ONE_OF = "a step is one of {allowed}"
OPENED_WITHOUT_HAZARDS = "a housing that is opened needs the hazards {needed}"
NEEDS_COUNTS = "needs [cured, of how many]"
MISSING_OR_WRONG = "`{key}` is missing or of the wrong sort"
TEXT_MISSING = "a text is missing"
NEEDS_SHARE = "needs a share from 0 to 1"
NEEDS_WHOLE_NUMBER = "`{key}` needs a whole number from 0 to {most}"
NEEDS_TEXTS = '`{key}` needs a list of texts, ["one", "another"]'
NEEDS_TRUE_OR_FALSE = "`{key}` is true or false"
NEEDS_TABLES = "is written as [[{key}]], one for each"
NEEDS_TABLE = "needs a table, `name = value` line by line"
