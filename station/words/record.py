"""The Record pane: what is known of the unit, visit by visit, and what to do next."""

TREATMENT_BUTTON = "T treatment"
TREATMENT_TOLD = "Log what was done to the unit"
NOTE_BUTTON = "{key} note"
NOTE_TOLD = "Write a note"
CERTIFICATE_BUTTON = "C certificate"
CERTIFICATE_TOLD = "Write the certificate"
OTHER_UNIT = "{tag} · Esc: back to {on_bench}"
NO_UNIT = "No unit is chosen. Plug one in, or press U to find one by its tag."

# --- visits side by side --------------------------------------------------------------------------------

VISITS = "Visits"
NO_CHECK_YET = "No check has been made yet."
ALL_PASSED = "Everything that was tested passed. A: show all {count}"
MORE_ROWS = "A: {count} more"
FEWER_ROWS = "A: fewer"
NOW = "now"
"""over the column of the running visit"""
CHECK_OF = "{control}, {check}"
ROW_TOLD = "{row}: {reading}"
ROW_TOLD_OLDER = "{told}; {older}"
ROW_CHANGED = "{told}; {change} than before"
FAULTY = "{faulty} of {counted}"
FAULTY_TOLD = "{faulty} of {counted} faulty"
"""in the last column, which names what is counted"""

GRADE = "Grade: {grade}"

# --- findings, suspects, the next treatment ---------------------------------------------------------------

FINDINGS = "Findings · I: look at the reports"
FINDING_BESIDE_TWIN = "{finding} · {twin}: {value}"
FINDING_OLDER = "{finding} · {older}"
READINGS_SAY = "What readings say"
SAID_OF = "{what}: {said}"
SUSPECTS = "Suspects"
NEXT = "Next: {treatment}"
THEN = "then: {what}"
ON_THE_SHELF = "on the shelf: {parts}"
TO_FIND_OUT = "to find out: {what}"

# --- log --------------------------------------------------------------------------------------------------

LINE_TOLD = "Click to withdraw it, with a reason (Z)."
LOG = "Log · Z: withdraw an entry"
VISIT = "{kind}: {came_to}"
VISIT_NOT_FINISHED = "{kind}: {came_to}, not finished"
CAME_TO = "{checks}, {failed} failed"
SUSPECTED = "first look, not tested yet: {finding}"
CHECKS = ("check", "checks")
CAME_TO_NOTHING = "no check yet"
TREATMENT_OF_PART = "{kind}: {part}"
TREATMENT_MINUTES = "{minutes} min"
NOTE_WITH_PHOTO = "{note} (with photo)"

# --- the unit -----------------------------------------------------------------------------------------------

UNIT = "Unit · E: edit · B: what it becomes · Shift+E: tag, model, lot"
CLAIM = "Claim"
CLAIMED = "“{claim}”, {state}"
NO_CLAIM = "none"
CONDITION = "Condition"
NO_CONDITION = "not written down"
REST = "Rest"
REST_UNTIL = "until {day}"
NO_REST = "no second test asked for"
BECOMES = "Becomes"
CERTIFICATE = "Certificate"
CERTIFICATE_ISSUED = "Certificate {number}"
SIGNED = "Signed"
CERTIFICATE_WITHDRAWN = "withdrawn: {reason}"
SIGNED_WITH = "key {fingerprint}"
NOT_SIGNED = "not signed"
