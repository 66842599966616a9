"""What may be said of a unit: rest and second test, results that are older than a treatment."""

STILL_RESTS = (
    "{tag} rests until {day} and then needs its second test; wait for it, or give a reason to call it ready now."
)
NOT_TESTED_AFTER_REST = (
    "{tag} has rested but has not had its second test; make the visit “after rest”, or give a reason to call it ready "
    "without it."
)
OLDER_THAN_TREATMENT = "from before “{kind}” of {day}, not tested since"
OLDER = "older: {label}"
SKIPPED = "{name} (skipped: {reason})"
NO_REASON = "no reason given"
NO_TREATMENT = "No treatment: no rest was asked for."
TESTED_AGAIN = "Tested again {days} after the last treatment ({day})."
TREATED_SINCE = "Tested again {days} after the treatment before it ({day}); done since, without another rest: {kinds}."
READY_WITHOUT_REST = "Declared ready without the rest: {reason}."
NOT_RESTED = "Not tested after a rest yet; due from {until}."
OPEN_DATE = "an open date"
DAYS = ("day", "days")
NO_SUCH_LIMIT = "There is no limit for {check}, {reading}; restore the limits file from the package."
