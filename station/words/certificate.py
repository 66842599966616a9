"""The certificate: what stands on its pages and in the content that is signed, and why it could not be made.

These are in the certificate's language, and their numbers in the style of paper, whatever the screen's is.
"""

# --- the head -----------------------------------------------------------------------------------------

TITLE = "Test certificate {number}"
END = "End of certificate {number}"
WHOSE = "{tag} · {model}"
PAGE = "page {page} of {pages}"
CONTENT = "Content SHA-256 {sha256}"
SIGNED_BY = "Signed with key {fingerprint}"
NOT_SIGNED = "Not signed"
UNIT = "Unit {tag}"
QR = "Restpoint certificate {number}\nunit {tag}\ndate {day}\nsha256 {sha256}\nkey {fingerprint}"
QR_UNSIGNED = "Restpoint certificate {number}\nunit {tag}\ndate {day}\nsha256 {sha256}\nnot signed"

CHECK = ("check", "checks")
PASSED = "Passed{grade}"
GRADED = ", grade “{grade}”"
GRADE_OF_SHOP = ", the shop's own grade “{grade}”"
NEAR_LIMIT = "; {checks} near the limit"
DECIDED_BY_HAND = "; {checks} decided by hand"
WIDER_LIMITS = "; {checks} only by limits wider than those that ship with Restpoint"
WITHOUT_SECOND_TEST = "; repaired, and not tested again after a rest"
LEFT_OUT = "; left out: {checks}"
DECLARED = "Sold with declared faults{grade}: {faults}"
AND_MORE_FAULTS = "{faults}; and {count} more"
FAULT_OF = "{control}: {fault}"
AS_FELT = "{fault} (in play: {felt})"
_OFF_TILT = "full tilt is not reached everywhere"
_LATE = "what is done may arrive late"
_MOTION = "steering by motion is wrong"
FELT = {
    "offset": "may move by itself",
    "noise": "trembles at rest",
    "no_return": "may move by itself after it is let go",
    "scatter": "may move by itself after it is let go",
    "drifts": "may move by itself",
    "leaves_rest": "may move by itself",
    "slow_settle": "stops late",
    "slow_return": "stops late",
    "dead_axis": "cannot be steered that way",
    "short_reach": _OFF_TILT,
    "flat_rim": _OFF_TILT,
    "creep": "full tilt comes late",
    "two_way_lag": "follows the thumb late",
    "spikes": "jumps when it is moved slowly",
    "gap": "skips a part of its way",
    "reversal": "goes the wrong way for a moment",
    "rest_high": "acts while nobody pulls it",
    "short_pull": "does not reach its full strength",
    "splits": "one press may count as two",
    "shorts": "a press may go unnoticed",
    "gaps": _LATE,
    "slow_rate": _LATE,
    "irregular": _LATE,
    "falls_fast": "the battery is soon empty",
    "accel_norm": _MOTION,
    "accel_scale": _MOTION,
    "accel_offset": _MOTION,
    "gyro_offset": "turns by itself when steered by motion",
    "gyro_scale": _MOTION,
    "dead_gyro": "cannot be steered by motion",
    "dead_accel": "cannot be steered by motion",
    "motion_noise": "trembles when steered by motion",
}
"""finding → what a player meets, where its own words are a technician's (common practice, no source)"""
INCOMPLETE = "Incomplete: {why}"
OPEN = "{missing} of {required} checks not tested"
FAILED_BEFORE = "{open}; {before} of these failed before the work on it"
AND_FAILED = "{open}; {failed} failed"
UNNAMED_OPEN = "nobody tested {extras} that the unit says it has"
AND_UNNAMED = "{open}; and nobody tested {extras} that the unit says it has"
EXTRAS = {
    "axis": ("axis", "axes"),
    "hat": ("direction pad", "direction pads"),
    "button": ("button", "buttons"),
    "motion": ("motion sensor", "motion sensors"),
    "touch": ("touch pad", "touch pads"),
}
"""what a device may have, by sort"""
SECOND_TEST_OPEN = "repaired, and not yet tested again after its rest"
NOTHING_ASKED = "nothing is known of what this model has to be tested for"
SIMULATED_HEADLINE = "SIMULATED, no real unit. {headline}"
SIMULATED_NUMBER = "SIMULATED-{number}"
OLDER_ONLY = "not tested since the unit was repaired"
PARTLY = "{missing} of {asked} checks not tested"

SHOPS_GRADE = "{grade} (the shop's own grade)"
GRADE = "Grade"

TESTED_BY = "Tested by"
PERSON_AND_BENCH = "{person}, {bench}"
NO_PERSON = "not named"
NO_BENCH = "bench not named"
ISSUED = "Issued"
ISSUED_AT = "{day} {time} UTC"
TAKEN_IN = "Taken in"
NOT_NOTED = "not noted"
SERIAL = "Serial number"
NO_SERIAL = "none given by the unit"
USB_IDENTITY = "USB identity"
UNKNOWN = "unknown"
CLAIM = "Claim"
CLAIMED = "“{claim}” – {state}"
NO_CLAIM = "none"
CONDITION = "Condition"
BECOMES = "Becomes"
SIGNATURE = "Signature"
SIGNATURE_BY = "of the bench, key {fingerprint}"
NO_SIGNATURE = "None. {why}"

# --- the first page ------------------------------------------------------------------------------------

BY_SHOP = "{shop} · tested by {person}"
SERIAL_IS = "serial number {serial}"
NO_SERIAL_GIVEN = "the unit tells no serial number"
ISSUED_ON = "Test certificate of {day}"
SIMULATED = "SIMULATED"
PHOTO_CAPTION = "This unit"
CODE_CAPTION = "names the file to ask for"
OUTCOMES = {
    "pass": "passed",
    "borderline": "near the limit",
    "fail": "failed",
    "not done": "not tested",
    "interrupted": "not tested",
}
"""what a control came to, for a buyer"""
DONE_TO_IT = "What was done to it"
MORE_DEVIATIONS = "{count} more deviations in the annex."
MORE_IN_ANNEX = "{count} more in the annex."
NOT_TESTED_AND_UNSEEN = "What was not tested, and what no test sees"
NOT_TESTED_ARE = "Not tested: {list}."
OLDER_CHECKS = "Not tested again since the work on it: {checks}. The annex marks them as older."
NO_TEST_SEES = (
    "No test sees how much life is left in a part. What each of these tests cannot see stands in the annex, with every "
    "reading, its limit and its uncertainty."
)
HOW_TO_CHECK = "How to check this certificate"
CHECK_IT = (
    "Open the file (not a print-out) on the shop's checking page, or with any PDF reader that shows signatures: it has "
    "to say that the whole document is signed and unchanged. The key has the fingerprint {fingerprint}; compare it "
    "with the one on the shop's own site or on the telephone. Then compare tag and serial number with the unit in your "
    "hands."
)
ANNEX = "Annex: all that was measured"

# --- what was done ------------------------------------------------------------------------------------

WHAT_WAS_DONE = "What was done"
DOT = " · "
VISIT = "Visit {number}, {kind}"
VISIT_OPEN = "Visit {number}, {kind} (not finished)"
VISIT_CAME_TO = "{passed} passed, {borderline} borderline, {failed} failed"
TREATED_PART = "{kind}: {part}"
MINUTES = "{minutes} min"
FROM_DONOR = "(from donor {donor})"
PART_FROM_DONOR = "{part} (from donor {donor})"
ANOTHER_UNIT = "another unit"
NO_TREATMENT = "Nothing: it was tested as it came in."
DAYS = ("day", "days")
TESTED_AGAIN = "Tested again {days} after the last work on it ({day})."
TREATED_SINCE = "Tested again {days} after the work before it ({day}); done since, without another rest: {kinds}."
READY_WITHOUT_REST = "Declared ready without the rest: {reason}."
NO_REST_ASKED = "What was done needs no second test after some days of rest."
REST_WAIVED = "Not tested again after a rest: the shop asks for none after this work."
NOT_RESTED = "Not tested after a rest yet; due from {until}."
TESTED_AHEAD = (
    "Not tested after a rest yet: the test dated {said} was made by a clock that ran ahead and was set back since, on "
    "{was} at the latest; due from {until}."
)
CLOCK_RAN_AHEAD = (
    "The bench's clock ran ahead and was set back: {what}, dated {said}, was on {was} at the latest. The order in "
    "which the bench recorded it counts, not this date."
)

BEFORE_AND_AFTER = "Before and after"
READING_OF = "{what}: {reading}"
VALUE_AT_VISIT = "visit {number}: {value}"
NO_VALUE = "–"
BETWEEN_VISITS = "   "

# --- sticks and controls ------------------------------------------------------------------------------

STICKS = "Sticks as measured"
NOT_MEASURED = "not measured"
DIAL_NOTE = (
    "Solid ring: limit at rest. Dotted ring: least reach asked for. Dot: position at rest. Crosses: where it settled "
    "after letting go. Outer ticks: the {sectors} sectors of the rim, short where the reach is too small, none where "
    "nothing was measured."
)
CHECK_OF = "{control}, {check}"
COUNTED = "{name} {value}"
COUNTED_WITH_LIMIT = "{name} {value} ({limit})"
SET_BY_HAND = "set by hand: {reason}"
ONE_TRY = "{day}, first try"
TRY_OF = "{day}, try {number} of {tries}"
INTERRUPTED = "{tries} interrupted"
TRIES = ("try", "tries")

# --- what was not tested, and how to read it ------------------------------------------------------------

NOT_TESTED = "Not tested"
NEXT_NOT_TESTED = "; "
ALL_NOT_TESTED = "{list}."
UNNAMED = "{extras} that the unit says it has (the tests of this model do not know of it)"
ABSENT = "The unit says that it has {extras} more; by the shop's word this model has none, so nothing of it was tested."
SKIPPED = "{what} (skipped: {reason})"
UNMEASURED = "{what} ({reason})"
NO_READING = "called good, and nothing of it was measured"
NO_REASON = "no reason given"
DEVIATIONS = "Deviations"
OUTCOME_BY_HAND = "{what}: a person decided the outcome ({reason})."
REPORT = ("message of the unit", "messages of the unit")
ALTERED = "{what}: its recording is not the one that was made any more, so that nothing is drawn from it."
LOST = "{what}: {reports} missed while it was tested."
NOT_LISTED = "{what} ({outcome}) is no longer in the model's sheet."
MODEL_CORRECTED = "Until {day} it was recorded as model “{was}”, also while it was tested; corrected because: {reason}."
SERIAL_CORRECTED = "Until {day} its serial number was recorded as “{was}”; corrected because: {reason}."
WITHDRAWN = "{what} ({outcome}, {day}) was withdrawn on {withdrawn} and is not counted: {reason}."
OVERRIDES = {
    "rest": "Declared ready before the rest was over: {reason}.",
    "older": "Declared ready with checks older than a treatment: {reason}.",
    "cut": "The rest was cut short: {reason}.",
}

SHOPS_LIMITS_UNUSABLE = (
    "The shop's own limits could not be used when this certificate was written, so those that ship stood in their "
    "place, and no grade is given."
)
GRADE_LIMITS = "Grade “{grade}” and its limits"
GRADE_RULE = (
    "The unit has the best grade whose every limit its readings keep by at least U, by the rule below; the limits are "
    "those of the day on which this certificate was written, and a check may have been judged by others."
)
GRADE_OF_FAULTS = (
    "This grade accepts what is outside its limits: the findings beside the checks name it. All that was asked for was "
    "tested."
)
GRADE_SCALES = {
    "shipped": "The grades are those that ship with the program: customary, without a published source.",
    "shop": "The grades are the shop's own.",
}
TWO_SENTENCES = "{first} {second}"
GRADE_LIMITS_OF = "{check}: {limits}."
GRADE_LIMIT = "{reading} {limit}"
CANNOT_SEE = "What these checks cannot see"
HOW_TO_READ = "How to read this"
NO_TIMED_CHECK = "No timed check."
STAMPED = "Reports stamped by {clocks}."
STAMPED_WITHIN = "Reports stamped by {clocks}. Stamp error (99th percentile) at most {error} ms."
NEXT_SENTENCE = " "
LINKS_ALIKE = "Over radio and over USB a movement waits alike before it is reported (averages {difference} apart)."
RADIO_SLOWER = "Over radio a movement waits {difference} longer on the average before it is reported than over USB."
RADIO_QUICKER = "Over radio a movement waits {difference} less on the average before it is reported than over USB."
CLOCKS = {
    "process": "a process of its own",
    "thread": "a thread of the program",
    "simulated": "a simulated unit",
    "capture": "the capture that was played back",
}
"""whose clock stamped the reports: the words that stand in the records"""
DECISION_RULE = (
    "A value passes when it lies inside its limit by at least its expanded uncertainty U; it fails when it lies "
    "outside by more than U, or beyond the fail limit; anything else is borderline (guard band w = U, after JCGM 106 "
    "and ILAC-G8). With k = 2 and a normal distribution, a value that passes is really outside its limit in at most "
    "2.5 % of cases. Counts carry no uncertainty."
)
UNCERTAINTY = (
    "U is expanded with k = 2 (about 95 %) from the resolution of the unit's codes (one code / √12, JCGM 100 F.2.2.1) "
    "and the scatter of the readings, with their correlation in mind (JCGM 100 4.2). Durations include the report "
    "interval. What happens between two reports cannot be seen."
)
LIMITS = (
    "Limits are customary in the repair trade and have no published source, unless they are marked: “shop” is the "
    "shop's own, “sheet” that of the model sheet, “grade” that of the grade, “earlier” one that was in force when the "
    "check was done. Each stands beside its value. An axis reads −100 … +100 % of half travel, a trigger 0 … 100 % of "
    "travel."
)
SIGNED = (
    "The file is signed over all of it, as the PDF standard has it: a PDF reader shows whether it is unchanged, and "
    "calls the signer unknown, since no authority vouches for a workshop. The fingerprint of the key says whose it is; "
    "compare it with what the seller tells you. “restpoint verify” checks both."
)
UNSIGNED = "This file is not signed: nothing in it shows who wrote it, or whether it was changed since."
SCOPE = (
    "These results hold for this unit only, as it was on the dates given. They say nothing of the life left in it. "
    "A bench test cannot replace the safety tests of cells and chargers. This is no accredited certificate. "
    "Copy it only as a whole."
)

# --- when it cannot be made ---------------------------------------------------------------------------

NO_PICTURE = "it is no picture that can be shown"
NO_SUCH_PAPER = (
    "A certificate does not fit on the paper “{paper}”; choose A4 or Letter where the shop's name stands, then write "
    "the certificate again."
)
NOT_PAINTED = "The certificate could not be painted; try again, and report it if it fails twice."
NOT_FINISHED = "The certificate could not be finished; free some memory and try again."
