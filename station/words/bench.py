"""A visit, the motors and the cell, and the lesson with an unknown pad: what the bench says meanwhile."""

# --- a visit ------------------------------------------------------------------------------------------

ALL_DONE = "Everything is done"
FINISH_WITH_KEY = "Press the key once more to finish the visit."
OR_CHOOSE = "Or choose a step to do it again."
BENCH_CLOSED = "The bench was closed."
SLEPT = "The computer slept."
STOPPED = "Not to be worked at any further: unplug it, and set it aside as your local rules say. Y looks it over again."
LOOKED_AT = "looked at, not measured"
NOT_SEEN = "pressed, and it did not come"
PRESS_IT_AGAIN = "Press it until it comes: the next button that answers needs its full check."
SAY_PASS_OR_FAIL = "Say whether it is right: pass or fail."
OTHER_STEP_CHOSEN = "Another step was chosen."
ASKED_AGAIN = "An answer was taken back; its question is asked again first."
SOMETHING_IN_FRONT = "Something else was done at the screen; it begins again afterwards."
CHOOSE_LIGHT_PRESS = "Choose a light press first; it can then be done at another strength."
MASS_OUT_OF_RANGE = "The mass must be more than 0 g and at most {most} g; give it again."
OTHER_STRENGTH_CHOSEN = "Another strength was chosen."
STARTED_AGAIN = "Started again."
NOTHING_ASKED = "Nothing was asked here; start the step with the key."
REASON_NEEDED = "Choose a step and type a reason: what is set by hand needs one."
VISIT_FINISHED = "The visit was finished."
LEAVE_ALONE = "This is done while the unit is left alone: W leaves it, and the bench is free for another."
STAYS_OPEN = "{error} The visit stays open; finish it again."
AWAY = "The device is away."
PLUG_IN_TO_ANSWER = "It cannot vibrate unplugged. Plug it in and feel it, or mark it by hand (M)."
UNIT_WENT_AWAY = "The unit went away: {message}"
READ_TOO_LATE = "This computer was held up and reports were read too late, which is no fault of the unit."
STARTS_AGAIN = "{why} The check starts again; close other programs if it happens more often."
BOTH_AT_THE_SAME_TIME = "{do} Both at the same time."
AT_THE_SAME_TIME = "{do} At the same time: {who}."
MISSING_AT = "{who}: {missing}"
NEXT_MISSING = "; "
MORE_CONTROLS = ("more", "more")
TOO_LONG = "It ran for longer than any check lasts; start it again."
PLUG_IN = "{message} Plug it in, then start again."
NO_EVIDENCE = "The evidence of this try could not be kept: {error} Its result was stored without it."
STORED_LATER = "{error} Every result is kept and will be stored as soon as that works."
STORED_WITH_ROOM = (
    "The disk that holds the records is full; make room on it. Every result is kept and will be stored as soon as "
    "there is room."
)
STORED_WHEN_FREE = (
    "Another program holds the records; close it, or wait until it is done. Every result is kept and will be "
    "stored as soon as they are free."
)
NOT_STORABLE = (
    "The result of this try could not be written down: {error} Its evidence is kept; do the check again, and report "
    "it if it happens twice."
)
CHECK_BROKEN = "The check could not be run: {error} Skip it or choose another step, and report it if it happens again."
CHECK_BROKEN_SHOWN = "This check cannot be run."
CHECK_BROKEN_HINT = "The program has a fault in it. Skip it or choose another step."
VISIT_GAVE_UP = (
    "The visit stopped because of an error of the program; what was recorded is kept. Close the window and start it "
    "again."
)
PROGRAM_ERROR = "an error of the program ({error})."
CHECK_INTERRUPTED = "The check was interrupted by this: {error} What was recorded is kept; start it again."
INTERRUPTED_BY = "Interrupted by: {error}"
DID_NOT_COUNT = "It did not count {tries} times: {why}"

# --- sleep and the clock ----------------------------------------------------------------------------------

SLEPT_FOR = "The computer slept for {span}; what was recorded is kept, start the check again."
CLOCK_SET_FORWARD = (
    "The computer's clock was set forward by {span}; results from now on bear the new time, "
    "measurements are not touched. Check that the date is right."
)
CLOCK_SET_BACK = (
    "The computer's clock was set back by {span}; results from now on bear the new time, "
    "measurements are not touched. Check that the date is right."
)
SECONDS = "{n} s"
MINUTES = "{n} min"
HOURS = "{n} h"
DAYS = "{n} days"

# --- the motors and the cell --------------------------------------------------------------------------------

MOTORS_READYING = "The motors are being made ready."
MOTORS_STOPPED = "The motors have stopped; do it again to feel them once more."
MOTORS_NOW = "Now: {motor}."
MOTORS_NOW_AND_REMARK = "Now: {motor}. {remark}"
MOTORS_PAUSE = "pause"
DOES_NOT_ANSWER = "it does not answer"
NOT_TOLD_HOW_IT_VIBRATES = "The unit does not tell how it vibrates ({why}); plug it in again, then do it again."
CELL_NOT_SAID = "the unit was asked and did not say it ({problem})"

# --- the lesson with an unknown pad ---------------------------------------------------------------------------

LESSON_FAILED = "The walk could not be worked out, which is a fault of this program; what was seen is kept."
LESSON_BACK = "It is back. The step that was interrupted is asked again."
LESSON_TOO_LATE = (
    "This computer was held up and reports were read too late. The step that was interrupted is asked again."
)
LESSON_PAUSED = "The step that was interrupted is asked again."
DEVICE_WENT_AWAY = "The device went away; plug it in again."
"""how a prompt calls it"""
"""how a row calls it"""
