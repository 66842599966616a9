"""The window around its panes: header, foot, the free bench, what it says of devices, visits and certificates."""

PROGRAM = "Restpoint"
VIEWS = {"bench": "Bench", "lots": "Lots", "shelf": "Shelf", "due": "Due", "figures": "Figures"}
VIEW_BUTTON = "{key} {view}"
ALL_KEYS_BUTTON = "? all keys"
NEXT_PANE = "F6: next pane"
PUT_AWAY = "Esc"
PUT_AWAY_TOLD = "Put the message away"

SOUND_ON = "Sound on."
SOUND_OFF = "Sound off."
SOUND_WITHOUT_OUTPUT = "Sound on; no output was found."
THEMES = {"auto": "As the desktop.", "light": "Light.", "dark": "Dark."}

FONTS_MISSING = "The font files in {folder} are missing or damaged; restore them from the package."

# --- header -------------------------------------------------------------------------------------------

NO_UNIT = "no unit on the bench"
NO_MODEL = "model not known yet"
MODEL_AND_CLAIM = "{model}  ·  claim: “{claim}”"

NO_DEVICE = "no device"
DEVICE = "device"
"""where it is not known how it is connected"""
AWAY = "away"
ENDED = "ended"
RATE = "{rate} reports/s"
LOST = "{count} lost"
STAMP_ERROR = "stamp ±{error}"

# --- the free bench -------------------------------------------------------------------------------------

BENCH_FREE = "The bench is free"
BENCH_FREE_TOLD = "Plug in a unit, or press D for a simulated sample unit"
PLUG_IN = "Plug in"
PLUG_IN_WHAT = "a unit: by cable, or paired; it is recognised by its serial number or its tag"
SAMPLE_WHAT = "a simulated sample unit, to see how a visit goes"
FIND_WHAT = "find a unit that is in the records"
LOTS_WHAT = "write up a lot and its units first"
DUE_WHAT = ("{count} unit is ready for the second test", "{count} units are ready for the second test")
KEYS_WHAT = "all keys"
NO_DEVICE_TO_TEST = "No device is plugged in that could be tested."
DEVICE_STATE = "{device}: {state}"
PLUGGED_IN = "plugged in"

# --- what happened --------------------------------------------------------------------------------------

UNIT_BACK = "The unit is back; the check goes on."
WAS_PLUGGED_IN = "{device} was plugged in. P: answer for it."
CERTIFICATE_WRITTEN = "Certificate written: {path} – signed with key {key}"
CERTIFICATE_WITH_NOTE = "{note} {written}"
CERTIFICATE_NOT_SIGNED = "Certificate written, but not signed. {problem} It is in {path}"
SHEET_IN_FORCE = "Sheet “{sheet}” is in force. Saved: {path}"
WRITING_CERTIFICATE = "Writing the certificate …"

# --- what a key cannot do now -----------------------------------------------------------------------------

PLUG_IN_FIRST = "Plug the unit in first; then V starts a visit."
WHICH_DEVICE = "More than one device is plugged in that may be this unit: leave one, then V starts a visit."
VISIT_UNDER_WAY = "A visit is under way: F ends it."
WORK_PAUSES_VISIT = "The visit of {tag} is put aside; its re-check comes when the work is done (T)."
PLUG_IN_FOR_RECHECK = "{tag} is treated. Plug it in for its re-check."
STOPPED = "{tag} is {sign}: unplug it, do not charge or open it any further; set it aside as your local rules say."
NO_UNIT_CHOSEN = "No unit is chosen: plug one in, or press U."
BEGINS_BY_ITSELF = "From now on the next check begins by itself; Space makes it wait."
WAITS_FOR_THE_KEY = "From now on each check waits for Space."
ANSWER_FIRST = "Answer with Y for good or X for not good."
LOOK_HAS_ENDED = (
    "The look at the controls has just ended, and nothing was saved: X again answers “not good” to what is asked now; "
    "Up goes back to a control."
)
NOTHING_ASKED = "Nothing is asked here. {space}."
NOTHING_ASKED_AT_ALL = "Nothing is asked here."
NOTHING_ASKED_RUNNING = "Nothing is asked here: the check goes on by what the unit reports."
