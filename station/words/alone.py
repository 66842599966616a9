"""What the check of a unit left alone says, what the window says of such units, and the command."""

# --- the check ------------------------------------------------------------------------------------------

ALONE = "Left alone"
DO = "Leave the unit alone: key W."
HINT = "Put it down, hands off, its cable firm. The bench goes on with another unit meanwhile."
DRIFT = "drift at rest"
EXCURSION = "farthest from where it began"
DISCONNECTS = "disconnects"
LONGEST_AWAY = "longest disconnect"
WATCHED = "watched for"
UNWATCHED = "not watched for"
SEEN_ONCE_IN = "seen with 95 % if once in"
CELL_PER_HOUR = "change of charge in an hour"
NOTHING_KNOWN = "no stick or trigger has reported"
LEAVE_LONGER = "leave it alone for at least ten minutes; it was watched for {minutes} min"
MORE = "leave it alone for {minutes} min more"
AT = "{hours}:{minutes}:{seconds}"
MOVES_BY_ITSELF = "{who} closes or moves by itself: {times}, at {at} after it was left alone"
DRIFTS = "{who} drifts at rest: {drift} % between the beginning and the end"
LEAVES_REST = "{who} leaves its rest by {excursion} %, farthest at {at} after it was left alone"
DISCONNECT = "link: went away {times} while left alone, at {at}, {longest} s at most"

# --- units that are left alone ----------------------------------------------------------------------------

LEFT = "{tag} is left alone. Hands off; the bench is free for another unit."
MOST_LEFT = "{most} units are left alone already; end one of them first (Shift+W)."
NOT_ENDED = "Nothing is left alone under that name any more."
ANOTHER_DEVICE = "another device was plugged in where it stood"
ENDED = "{tag}, left alone: {outcome}"
ENDED_WHY = "{tag}, left alone: {outcome}; it ended because {why}"
ENDED_AGAIN = "{tag}, left alone: {again}"
TAKEN_UP = "{tag} is left alone, as before the program was closed; the time in between was not watched."
NOT_TAKEN_UP = "{tag} does not go on being left alone: {error}"
UNUSABLE = "{file} tells of no unit that was left alone; it was put aside, and nothing of it counts."
NOT_STORED = "{tag}, left alone: the result could not be stored yet ({error}); it is kept and tried again."
NOT_SAVED = "not on the disk ({reason}): make room"

# --- the window -------------------------------------------------------------------------------------------

LEAVE = "Leave alone: {tag}"
LEAVE_KEYS = "1–3: how long · Tab: next field · Enter: leave it alone · Esc: back"
LEAVE_PROMPT = "Put it down where nobody moves it, cable firm, nothing on the sticks, hands off."
HOW_LONG = "How long"
DURATIONS = ("10 minutes", "1 hour", "overnight: until it is ended")
SHOP_WANTS = "Before the second test of a treated unit"
SHOP_CHOICES = ("not asked for", "this shop asks for it")
LIST = "Left alone"
LIST_KEYS = "1–8: which · Enter: end it now · Esc: back"
END_ASKED = "End {tag}? {time} so far, and no end was set. Enter again ends it, Esc leaves it."
LIST_NONE = "No unit is left alone; W leaves the one at the front alone."
NO_UNIT = "Which unit? Plug it in and say whose it is first."
SHORTCUT_LEAVE = "leave this unit alone, and go on with another"
SHORTCUT_LIST = "the units that are left alone; end one"

STRIP = "Left alone (Shift+W): {units}"
NEXT_UNIT = "  ·  "
ONE = "{tag} {state}"
ONE_WITH_EVENTS = "{tag} {state}, {events}"
STATES = {"settles": "begins", "away": "away"}
LEFT_FOR = "{time} left"
SINCE = "for {time}"
MOVEMENTS = ("movement by itself", "movements by itself")
DROPS = ("disconnect", "disconnects")
MINUTES = "{minutes} min"
HOURS = "{hours} h {minutes} min"
PROBLEM = "{one} ({problem})"

# --- the command ------------------------------------------------------------------------------------------

COMMAND_MINUTES = "--minutes must be between 10 and {most}; try --minutes 60."
COMMAND_BEGINS = "{name} is left alone for {minutes} min. {prompt}"
COMMAND_SKIPPED = "{name} is left out: {problem}"
COMMAND_NOTHING = "No game controller is plugged in; plug in what is to be left alone, then try again."
COMMAND_STOPPED = "Ended by hand."
COMMAND_FOLDER = "The folder {folder} cannot be written ({reason}); name another with --folder."
