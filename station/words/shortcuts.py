"""The table of keys: what each key of the window does, and what is written on it."""

CAPS = {
    "Space": "Space",
    "Enter": "Enter",
    "Backspace": "Backspace",
    "Esc": "Esc",
    "Up": "Up",
    "Down": "Down",
    "PgUp": "PgUp",
    "PgDn": "PgDn",
    "Left": "Left",
    "Right": "Right",
    "Home": "Home",
    "End": "End",
    "Insert": "Insert",
    "Delete": "Delete",
    "Pause": "Pause",
    "Shift": "Shift",
    "Ctrl": "Ctrl",
}
"""what keyboards have on the keys that write nothing"""

# --- a visit --------------------------------------------------------------------------------------------

UNDO = "take back what was saved in the last seconds"
WITHDRAW_PART = "withdraw this part, with a reason"
GO = "start the check · end it now · next · wait"
BY_ITSELF = "the next check begins by itself, or waits"
GO_OR_ANSWER = "the same; answers for a device that was plugged in"
TAKE_BACK = "take the last beat back"
AGAIN = "do this check again"
ANSWER_GOOD = "asked: good"
ANSWER_BAD = "asked: not good; first look: pressed, and it did not come"
PREVIOUS = "the check before"
FOLLOWING = "the check after"
MARK = "mark this check by hand"
SKIP = "skip this check, with a reason"
STRENGTH = "press harder or lighter, or with a known mass"
LONG_FORM = "press this button lightly 100 times: finds misses that come in runs"
FINISH = "end the visit"
VISIT = "start a visit for this unit"

# --- unit and record --------------------------------------------------------------------------------------

TREATMENT = "begin a treatment, or end the one under way"
NOTE = "write a note"
CAUTIONS = "read what can hurt"
CERTIFICATE = "write the certificate"
OFFER = "copy the text of an offer"
LABELS = "print a label for this unit, or for its lot"
SHOP = "who issues the certificates"
EDIT = "edit claim, condition, rest date"
BECOMES = "say what becomes of the unit"
CAME_BACK = "a sold unit came back, or what was found of it"
WITHDRAW = "withdraw something of this unit, with a reason"
CORRECT = "put right its tag, model or lot"
ALL_ROWS = "all checks side by side, or the few that matter"
EVIDENCE = "look at the reports behind a result"
FREEZE = "freeze the last 30 seconds of the check that runs, and look at them"
RECORD_UP = "the record, upwards"
RECORD_DOWN = "the record, downwards"
FIND = "find a unit by its tag"
SAMPLE = "plug in a simulated sample unit"
SILENT = "a device that does not say what it is"
BACK_UPS = "put a back-up in the place of the records"
SAVE_SHEET = "save this model's sheet"
TEACH = "teach this device: a walk that makes its sheet"
NEXT_PANE = "narrow window: the next pane"

# --- teaching ---------------------------------------------------------------------------------------------

LESSON_NEXT = "this step is done · go on · save"
LESSON_NEXT_TOO = "the same"
LESSON_AGAIN = "this step again"
LESSON_BACK = "the step before, again"
LESSON_PAUSE = "pause"
LESSON_FIRST = "first answer"
LESSON_SECOND = "second answer"
LESSON_THIRD = "third answer"
LESSON_UP = "the question before"
LESSON_DOWN = "the question after"
LESSON_PAGE_UP = "what was learned, upwards"
LESSON_PAGE_DOWN = "what was learned, downwards"
LESSON_STOP = "stop; what was seen is kept"

# --- lots and shelf -----------------------------------------------------------------------------------------

NEW_LOT = "new lot"
EDIT_LOT = "edit the lot: price, postage, seller, units expected"
NEW_UNIT = "new units in this lot, one after the other"
IMPORT_LOT = "a lot comes in: units from a spreadsheet"
MONEY = "the money of this lot, unit by unit"
PLAN = "the plan for this lot: what to do in the hours at hand"
WITHDRAW_ARRIVAL = "withdraw what came into the lot together"
LABELS_OF_LOT = "print labels for this lot, or for one unit"
GIVE_UP = "give the unit up for parts"
PART_CAME = "a part that is waited for has come"
SEARCH = "search units"
LOTS_PANE = "from the lots to the lot and back"
NEW_PART = "put a part on the shelf"

# --- the shop in figures -------------------------------------------------------------------------------------

FIGURES_CAME = "what came in, and what became of it"
FIGURES_CLAIMS = "what became of claims, by source"
FIGURES_FAULTS = "what fails when units come in, by model"
FIGURES_CURES = "what cures what"
FIGURES_MONEY = "minutes and profit of each lot"
FIGURES_STANDING = "where the unit stands among all of its model"
FIGURES_BACK = "from the units behind a figure back to it"
FIGURES_KEEP = "write this table (CSV)"
FIGURES_STOP = "stop reading units for the figures, or go on"

# --- the evidence room ---------------------------------------------------------------------------------------

NEXT_PLACE = "the next place where a finding shows"
PLACE_BEFORE = "the place before"
NEXT_PICTURE = "the next picture of the same reports"
ZOOM_IN = "see less of the time, larger"
ZOOM_OUT = "see more of the time"
WHOLE_TRY = "the whole try"
EARLIER = "earlier"
LATER = "later"
FIRST_CURSOR = "put the first cursor in the middle"
SECOND_CURSOR = "put the second cursor in the middle"
CURSOR_BACK = "the cursor one report back"
CURSOR_ON = "the cursor one report on"
NO_CURSORS = "take the cursors away"
KEEP_PICTURE = "write this picture (PNG, SVG) and its numbers (CSV)"
LAY_OVER = "lay another try over it, of this unit or of a good one of its model; away again"
COURSE = "the course of the unit: readings over its visits; back again"
MEASURE_AGAIN = "measure the reports again, as it is done today"

# --- everywhere -----------------------------------------------------------------------------------------------

ATTEND = "answer for the device that was plugged in"
SOUND = "sound on or off"
THEME = "light, dark, as the desktop"
SETTINGS = "settings: all that a shop can set"
LARGER = "larger type"
SMALLER = "smaller type"
KEYS = "all keys"
ESCAPE = "back; put a message away; back to the unit on the bench"
