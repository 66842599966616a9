"""Grades: what a unit may be called, what keeps it from the next better one, and a limits file that cannot be used."""

NAMES = {
    "as new": "as new",
    "good": "good",
    "fair": "fair",
    "sold with faults": "sold with faults",
}
"""the grades that ship; those of a shop are shown as it calls them"""

# --- what a unit is called ---------------------------------------------------------------------------------

NOT_GRADED = "not graded: {why}"
UNGRADED = "–"
"""where there is room for one word"""
NOT_TESTED = "{missing} of {required} not tested"
NO_LIST = "no model sheet says what is to be tested"
NOT_NAMED = "the unit says it has more than was tested"
NO_GRADE_FITS = "outside “{lowest}”, the lowest grade"
SHEET_UNUSABLE = "the limits of its model sheet cannot be used"
LIMITS_UNUSABLE = "the shop's limits cannot be used"
KEPT_FROM = "not “{better}”: {why}"
AND_MORE = "{why}; and {count} more"
NEXT_REASON = "; "

BY_CHECK = "{check}: {outcome}"
BY_HAND = "{check}: {outcome}, set by hand"
BY_READING = "{check}: {reading}"
BY_READING_BORDERLINE = "{check}: {reading} (borderline)"
SECOND_TEST_DUE = "the second test is still due"

# --- where a limit comes from --------------------------------------------------------------------------------

ORIGINS = {"shipped": "", "shop": "shop", "sheet": "sheet", "grade": "grade", "earlier": "earlier"}
"""beside a limit; those that ship have no mark"""
LIMIT_FROM = "{limit} · {origin}"

# --- a file that cannot be used ------------------------------------------------------------------------------

FILE = "The file of the shop's limits"
WRONG = "The shop's limits {file}, {place}: {what}; mend that entry."
MENDED = "limits.toml can be read again: the shop's own limits and grades are in force."
WITHOUT_THEM = "{problem} Until then the limits that ship are in force, and no unit is graded."
PLACE_CHECK = "The shop's limits {file}, [{check}]"
PLACE_GRADE_CHECK = "The shop's limits {file}, grade {number} ({name}), limits.{check}"
GRADE = "grade {number} ({name})"
TABLE_EXPECTED = "a table of readings is expected"
GRADES_EXPECTED = "grades are written as [[grade]], one after the other"
NO_GRADE = "there is no [[grade]]"
NAME_MISSING = "a name of at most {most} letters is missing"
NAME_NOT_SEEN = "nothing of the name can be seen"
SAME_NAME = "the name is there twice, or differs from another only by case, width or blanks"
TOO_MANY_GRADES = "{count} grades are more than the {most} that there may be"
YES_OR_NO = "{key} is true or false"
UNKNOWN_KEY = "there is no key {key}; use {known}"
FAULTS_NOT_LAST = "only the last grade can accept faults, or those after it are never given"
FAULTS_NEED_NO_LIMITS = "it accepts what is outside its limits, so limits of its own do nothing"
OF_THE_TEST = "{check}.{reading} belongs to the test itself, which a grade does not do again; write it in [{check}]"
ASKS_MORE = "it asks more of {check}.{reading} than “{better}”, which is the better one"
