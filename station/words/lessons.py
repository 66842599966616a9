"""The window while a device is taught: its panels, the large card of a step, what was learned."""

# --- before the lesson ----------------------------------------------------------------------------------

HOW_MANY = "Teach {device}: how many has it?"
THIS_DEVICE = "this device"
"""inside a sentence, for a device that gives no name"""
KINDS = {
    "sticks": "Sticks",
    "triggers": "Triggers, pulled by the index fingers",
    "pads": "Direction pads",
    "shoulders": "Shoulder buttons",
    "face": "Face buttons, under the right thumb",
    "centre": "Centre buttons",
    "stick_presses": "Sticks that click when pressed straight down",
    "paddles": "Rear paddles",
}
KINDS_SHORT = {
    "sticks": "Sticks",
    "triggers": "Triggers",
    "pads": "Direction pads",
    "shoulders": "Shoulder buttons",
    "face": "Face buttons",
    "centre": "Centre buttons",
    "stick_presses": "Sticks that click when pressed straight down",
    "paddles": "Rear paddles",
}
NUMBER_OF = "{kind}: {number}"
AT_MOST = "{kind}: at most {most}."
LENGTH = "{steps}, {time}. Leave out what the device has not."
STEPS = ("step", "steps")
STOPPED_WALK = "A walk with this device was stopped"
GO_ON_WITH = "go on with the walk of {time}"
BEGIN_ANEW = "begin anew"
COUNT_KEYS = "Up, Down: kind · Left, Right or a digit: how many · Enter: begin · Esc: back"
COUNT_OR_GO_ON_KEYS = "1–2: go on, or anew · Tab: how many (Up, Down, a digit) · Enter: begin · Esc: back"
SAY_HOW_MANY = "Say of at least one kind how many there are."
END_CHECK_FIRST = "A check is running: end it, then F5 teaches the device."
SEVERAL_DEVICES = "Several devices are plugged in: leave one."
PLUG_IN_FIRST = "Plug in the device to be taught first."

# --- a step ---------------------------------------------------------------------------------------------

TEACHING = "Teaching {device}"
ONCE_MORE = "{title}, once more"
STEP_OF = "{title} · step {number} of {count}"
DEVICE_STEPS = {"rest": "Hands off", "move": "Turn it about"}
DEVICE_STEPS_NEXT = {"rest": "hands off", "move": "turn it about"}
CONTROL_STEPS_NEXT = {
    "push": "{control}, to its four sides",
    "roll": "{control}, around its rim",
    "tap": "{control}, its four directions",
    "ring": "{control}, around it",
}
"""a step that comes later, in a few words; the steps that are not here are called by their control"""
TIME_LEFT = "{time} left"
REPORTS_ARRIVE = "Its reports arrive"
QUIET_AT_REST = "It is quiet, as many are at rest"
QUIET_WHEN_MOVED = "It is quiet: it has no motion sensor, or sleeps"
MOVED = "Something moved"
NOT_MOVED = "Reports arrive; nothing has moved yet"
NOTHING_CAME = "Nothing has come yet"
THEN = "Then, by itself: {step} · {time} to go"
WHAT_WAS_LEARNED = "what was learned"
ABOUT = "about {minutes}"
MINUTES = ("minute", "minutes")
UNDER_A_MINUTE = "less than a minute"
NOTED_KEYS = "Noted: next in a moment · R: this step again"
WALK_KEYS = "Space: done, next · R: this step again · Backspace: the step before · P: pause · Esc: stop, kept"
REST_KEYS = "R: this step again · Backspace: the step before · P: pause · Esc: stop, kept"

# --- while it waits ---------------------------------------------------------------------------------------

PAUSED = "Paused"
NEXT = "Next: {step}"
PAUSE_KEYS = "Space: go on · Backspace: the step before · Esc: stop, kept"
UNPLUGGED = "It is unplugged"
PLUG_IN_AGAIN = "Plug it in again. {kept}"
AWAY_KEYS = "Plug it in again, or Esc: stop, kept"
LEARNING = "Working it out"
LEARNING_DO = "A few seconds. Nothing to do."
LEARN_KEYS = "Esc: stop, kept"
KEPT = ("step is kept.", "steps are kept.")
"""after their number"""
STOPPED_KEPT = "Stopped; what was seen is kept. F5 goes on with it."
STOPPED = "Stopped. F5 begins again."

# --- what was learned ---------------------------------------------------------------------------------------

NOTHING_YET = "Nothing was learned yet"
NOTHING_TO_SAVE = "Nothing was learned that could be saved: Esc, then F5 walks again."
LEARNED = "{controls} learned"
LEARNED_AND_OPEN = "{controls} learned, {questions}"
CONTROLS = ("control", "controls")
QUESTIONS = ("question", "questions")
SURE = "sure"
FAIRLY_SURE = "fairly sure"
IN_DOUBT = "in doubt"
BY_YOUR_WORD = "as seen, by your word"
LEFT_OUT = "Left out, because it belongs to no control: {what}."
LEFT_OUT_KINDS = {
    "counter": "a counter",
    "time stamp": "a time stamp",
    "checksum": "a checksum",
    "sensor": "motion sensors",
    "other": "something that no control moved",
}
ANSWERS = {"again": "do it again", "write": "write it as seen", "leave": "leave it out"}
ENTER = "Enter: {what}"
DO_IT_AGAIN = "do it again"
DO_THEM_AGAIN = "do the {count} in doubt again"
NAME_AND_SAVE = "name the sheet and save it"
TAUGHT_KEYS = "PgUp, PgDn: scroll · Esc: stop, kept"
TAUGHT_KEYS_ONE = "1–3: answer · PgUp, PgDn: scroll · Esc: stop, kept"
TAUGHT_KEYS_SEVERAL = "1–3: answer · Up, Down: question · PgUp, PgDn: scroll · Esc: stop, kept"
NAME_MODEL = "Name this model"
NAME_KEYS = "Enter: save the sheet · Esc: back to the list"
NAME_ON_LABELS = "Name of the model, as it is to stand on labels and certificates"
NAME_COUNTS = "It counts from now on; a sheet of the same name is put aside."
