"""The reports behind a result, looked at: what is drawn, what cannot be shown, and what the keys of the room say."""

# --- what cannot be shown: one sentence each -----------------------------------------------------------------

NONE_KEPT = "No reports were kept with this result; do the check again to have some to look at."
MARKED_BY_HAND = "This result was set by hand, so no reports belong to it; do the check to have some to look at."
MISSING = (
    "The reports of this result are not in the captures folder any more; put the file {name} back from a back-up, "
    "or do the check again."
)
ALTERED = (
    "The file with the reports of this result was changed after it was recorded, so nothing of it is shown as "
    "evidence; put {name} back from a back-up, or do the check again."
)
EMPTY = "The unit sent no report while this check ran, so there is nothing to draw; do the check again."
NOT_IN_CAPTURE = "The recording holds no try at this check; do the check again to have its reports."
SHEET_CHANGED = (
    "The model sheet was changed since, and the reports of this result do not fit it any more ({why}); "
    "put the sheet back that it was recorded with, or do the check again."
)
NO_SHEET = "No model sheet of this unit is known any more; put the sheet {sheet} back, or do the check again."
OTHER_SHEET = "Recorded with the sheet “{was}”, read with “{now}”: names and places may be others now."

# --- what is drawn -------------------------------------------------------------------------------------------

HORIZONTAL, VERTICAL = "horizontal", "vertical"
LINE_OF = "{control}, {axis}"
DIRECTION_OF = "{control}, {direction}"
ACCELERATION = ("acceleration along x", "acceleration along y", "acceleration along z")
TURNING = ("turning about x", "turning about y", "turning about z")
TRAVEL_UNIT = "%"
MILLISECONDS = "ms"
LIMIT = "limit {value}"
