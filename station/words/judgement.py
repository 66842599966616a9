"""What may be said of a unit: rest and second test, results that are older than a treatment."""

STILL_RESTS = (
    "{tag} rests until {day} and then needs its second test; wait for it, or give a reason to call it ready now."
)
NOT_TESTED_AFTER_REST = (
    "{tag} has rested but has not had its second test; make the visit “after rest”, or give a reason to call it ready "
    "without it."
)
TESTED_AHEAD = (
    "{tag} was tested on {said} by a clock that ran ahead; it was {was} at the most, and the rest lasts until {until}; "
    "test it again then, or give a reason to call it ready without."
)
NOT_LEFT_ALONE = (
    "{tag} has not passed being left alone since its last treatment, which this shop wants; leave it alone, or give a "
    "reason to call it ready without it."
)
STILL_DUE = (
    "After “{kind}” of {day} these checks of {tag} have to be done again: {checks}; do them, or give a reason to call "
    "it ready without them."
)
NEXT_CHECK = "; "
MORE_CHECKS = "{count} more"
CHECKS = ("check", "checks")
CHECKS_OLDER = "{checks} {older}"
OLDER_THAN_TREATMENT = "from before “{kind}” of {day}, not tested since"
OLDER = "older: {label}"
NO_SUCH_LIMIT = "There is no limit for {check}, {reading}; restore the limits file from the package."
