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
TOO_LONG_TO_MARK = (
    "A recording of more than a million reports, longer than any try at the bench: all of it is drawn, and what the "
    "check looked at is not marked."
)
READS_OTHERWISE = (
    "Read today, these reports come to other values than are recorded: the model sheet or the measure was changed "
    "since, so this may not be what was judged (M in the window says where)."
)
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

# --- pictures ------------------------------------------------------------------------------------------------

PICTURES = {
    "time": "over time",
    "path": "path of the stick",
    "codes": "codes over the travel",
    "cloud": "at rest",
    "intervals": "waits between reports",
}
TIME_AXIS = "seconds since the check began"
FROZEN_AXIS = "seconds of what was frozen"
TRAVEL_AXIS = "% of travel"
WAITS_AXIS = "wait, ms"
LINES = ("line", "lines")
MORE_LINES = "{lines} more: in the numbers that G writes"
DASHED_LINES = "dashed: the other try"
FIELD_AXES = "horizontal, % of travel", "vertical, % of travel"
OVER_TRAVEL = "{track}: % of its travel"
HOW_OFTEN = "seen so often"
LEGENDS = {
    "time": "Each value holds until the next report; zoomed in far enough, every report is a dot.",
    "path": "Line: every place that the stick was at; thin outline: full travel.",
    "codes": "Each line is a code that was seen; where there is none, codes are missing.",
    "cloud": "Dots: every place of the stick in the stretch that was measured last. The cross in its ellipse: where it "
    "rests, with its uncertainty.",
    "intervals": "How long each report was waited for.",
}
RINGS = "Rings: where it came to rest after each flick; the cross is the mean of them."
SET_ASIDE = "Dotted rings: left out of the mean, for only from that side it stays away."
BARS = "Bars: the contact is closed."
SHADED = "Shaded: used by the measure."
HATCHED = "Hatched: left out, {why}."
DASHED = "Dashed: {limits}."
DIAMONDS = "Diamonds: what is wrong."
CIRCLES = "Circles: {what}."
READ_OFF = "where a value was read off"
REACH = "Thick: how far it reaches in each sector."
FITTED = "Dotted: the circle that fits the rim best."
SETTLED = "Rings: where it came to rest after each flick."

# --- in words ------------------------------------------------------------------------------------------------

SUMMARY = "{title}: {outcome}. {reports} in {time}."
USED = "Used by the measure: {time}."
LEFT_OUT = "Left out: {time}, {why}."
SILENT = "{silences} without a report: nothing is drawn there."
LOST = "{reports} lost on this computer."
FOUND = "{finding}."
REPORTS = ("report", "reports")
SILENCES = ("stretch", "stretches")
SECONDS = "s"
MICROSECONDS = "µs"
CURSOR = "Cursor at {time}"
CURSORS = "Cursors at {first} and {second}: {apart} apart"
LINE_BETWEEN = (
    "{name}: change {change}, mean {mean}, median {median}, rms about the mean {rms}, least {least}, "
    "greatest {greatest}, peak to peak {peak_to_peak}, {reports}"
)
CONTACT_BETWEEN = "{name}: closed {times}, for {share} % of the time"

# --- the room ------------------------------------------------------------------------------------------------

ROOM = "Evidence"
ROOM_KEYS = (
    "Enter: open · N, B: places · V: next picture · L: lay over · + −: zoom · ← →: move · 1, 2: cursors · "
    "C: the course · G: write the picture · Esc: back"
)
HEADS = ("Result", "Visit")
VISIT = "{kind}, {day}"
RESULT = "{control}: {check}"
BELOW = "· {what}"
NAMED = "{title}: {picture} ({number} of {total})"
STOP = "Place {number} of {total}: {text}"
STOP_AT = "{stop} · {what}"
READING = "Reading the reports …"
NOTHING_MEASURED = "Nothing was measured on this unit yet: Space begins a check."
NO_PLACES = "This result has no finding, so there is no place to jump to."
LAST_PLACE = "That was the last place; B goes back."
FIRST_PLACE = "That was the first place; N goes on."
NO_CURSORS_HERE = "Cursors stand in pictures over time: V goes to the next picture."
SET_A_CURSOR = "Set a cursor first: 1 or 2, or a click."
WITHDRAWN = "This result was withdrawn meanwhile; open another one."
NO_MEMORY = "The memory is not enough for this recording; close other programs and open it again."

# --- the course of a unit ------------------------------------------------------------------------------------

COURSE = "The course of the unit"
COURSE_KEYS = (
    "↑ ↓: readings · ← →: visits · Enter: the reports behind it · G: write the picture · C, Esc: back to the evidence"
)
COURSE_HEADS = ("Reading", "Over the visits")
COURSE_READING = "{what}, {reading}"
COURSE_TOLD = "{values}: {held}"
COURSE_VISIT = "{kind}, {day}"
COURSE_LEGEND = (
    "Dashed: the limit; dotted: beyond it fails. Upright lines: treatments. Hatched: the unit lay, overnight or longer."
)
NO_COURSE = "No reading with a limit was taken of this unit yet, so there is no course to draw."
ARROW = " → "
ALWAYS_PASSED = "passed at every visit."
PASSED_ONCE = "passes; there was one visit so far."
NEVER_PASSED = "never passed so far."
DID_NOT_HOLD = "it had passed, and since {day} it {verdict} again: what was done did not hold."
PASSES_SINCE = "passes since “{treatment}” of {day}{rest}."
PASSES_UNTREATED = "passes since {day}, with nothing done to it in between{rest}."
HELD_REST = ", and did so after a rest"
NO_REST_YET = "; whether that holds shows after a rest"
RESTED = "lay {time}"
HOURS = ("hour", "hours")
DAYS = ("day", "days")
COURSE_VISITS = "Earlier and later visits"
COURSE_PICTURE = "{tag}, {model} · {what}"
COURSE_FILE = "{tag}-course-{check}-{control}-{reading}"

# --- before and after, measured again ------------------------------------------------------------------------

LAID_OVER = "Laid over it, dashed or in the second colour: {visit}."
NOTHING_TO_LAY_OVER = (
    "There is nothing to lay over it: no other try at this check with reports, and no {model} that passed everything."
)
LAY_OVER = "What to lay over it"
LAY_OVER_KEYS = "↑ ↓ or a digit: choose · Enter: lay it over · Esc: back"
OTHER_TRY = "{visit}: {outcome}"
GOOD_UNIT = "{tag}, which passed everything ({visit})"
DIFFERENCE = "{name} {there} there, {here} here, which {verdict}"
HERE = {"pass": "passes too", "borderline": "is borderline", "fail": "fails"}
CHANGE = "{name} {was} → {now}, {verdict}"
NOW = {"pass": "now passes", "borderline": "now borderline", "fail": "now fails"}
STILL = {"pass": "passes as before", "borderline": "still borderline", "fail": "still fails"}
VERDICT_CHANGE = "{check}: {was} → {now}"
FOUND_BEFORE = "before: {finding}"
FOUND_AFTER = "after: {finding}"
FOUND_HERE = "here: {finding}"
LANE_OF_OTHER = "{name} (laid over)"
VERDICT_UNKNOWN = "only reported in one of them"
NOT_FROM_REPORTS = "This result cannot be measured again from its reports alone; it stands as it was recorded."
AGAIN_SAME = "Measured again by version {version} with the limits in force: the same in every reading, {now}."
AGAIN_OTHER = "Measured again by version {version} with the limits in force: {now}; recorded: {was}."
READ_OTHER = "{name}: recorded {was}, now {now}."
WHY_OTHER = (
    "The reports are the same, so the measure works otherwise now, or knew more then, or the model sheet was changed "
    "since."
)
READ_ANEW = "{name}: {now}; not recorded then."
NOT_AGAIN = "{name}: recorded, and not in the reports alone."
LIMIT_OTHER = "{name}: the limit was {was} and is {now}."
NO_LIMIT = "none"
FOUND_NO_MORE = "No longer found: {finding}"
FOUND_ANEW = "Found now: {finding}"

# --- frozen while a check runs -------------------------------------------------------------------------------

FROZEN = (
    "The last {seconds} s, frozen {at} while the check runs; the check goes on, and nothing of this picture is kept "
    "unless G writes it."
)
NOTHING_RUNS = "No check runs, so there is nothing to freeze; I opens what was recorded."
NOTHING_TO_FREEZE = "Nothing was reported in the last seconds, so there is nothing to draw."
FROZEN_ALONE = "This is frozen, not recorded: end the check, and I opens it to be measured again or laid over."

# --- a picture as a file -------------------------------------------------------------------------------------

PICTURE_OF = "{tag}, {model} · {what} · {day}"
OF_PICTURE = "{title}: {picture}"
FILE_NAME = "{tag}-visit-{visit}-{check}-{control}-{picture}"
WRITTEN = "Written: {path} ({endings})"
NOT_WRITTEN = "The picture could not be written to {folder} ({reason}); make room there and press G again."
