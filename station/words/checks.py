"""What the checks say, check by check: name, what to do, how far it is, readings and findings.

Fields of a finding: `who` is the control, `where` the control with the axis or direction of the finding; the others
are what the check measured. Prompts and findings are whole sentences or begin with the control, so that they can be
turned round in another language.
"""

AGAIN = "again, please: {what}"
UNIT = "unit"
WAITING = "waiting for the first report"
NEVER_REPORTED = "nothing has come from the {who} yet, move it once"
NOT_REPORTED = "the control has not reported yet"
NO_PRESS_YET = "no press seen yet"
TO_GO = "{what} to go"
LET_GO = "let go"

BORDERLINE_INSIDE = "inside its limit by less than its uncertainty"
BORDERLINE_OUTSIDE = "outside its limit by less than its uncertainty"
BORDERLINE_COUNT = "outside its limit and not beyond where it fails"
BORDERLINE_AND = "{why}; {reason}"

PRESS = ("press", "presses")
GOOD_PRESS = ("good press", "good presses")
SECOND = ("second", "seconds")
BEAT = ("beat", "beats")
DIRECTION = ("direction", "directions")
SECTOR = ("sector", "sectors")
PASS = ("pass", "passes")
PULL = ("pull", "pulls")
SPIKE = ("spike", "spikes")
GAP = ("gap", "gaps")

DIRECTIONS = {"up": "up", "right": "right", "down": "down", "left": "left"}
EIGHTHS = ("up", "up and right", "right", "down and right", "down", "down and left", "left", "up and left")
TOWARDS = (
    "upwards", "up and to the right", "to the right", "down and to the right",
    "downwards", "down and to the left", "to the left", "up and to the left",
)  # fmt: skip
"""where something lies, seen from the middle: the eighths in the same order"""
TITLE = "{control}, {check}"
AT_PART = "{who}, {part}"
AT_BEARING = "{who} at {bearing}°"

DEAD_AXIS = "{where}: no signal while the other axis moves"

# --- contact ------------------------------------------------------------------------------------------

CONTACT = "Contact"
GLANCE = "First look"
GLANCE_DO = {
    "button": "Press {who} five times, lightly; hold the last one for half a second.",
    "stick": "Push {who} fast to eight directions, the four sides held; roll it round and back, lead it slowly across.",
    "trigger": "Pull {who} slowly to its stop and let it go, twice.",
    "hat": "Roll {who} once round and let it go.",
}
"""by kind of control"""
GLANCE_DO_TOGETHER = (
    "Work everything once, in any order: each stick to eight directions, round and back, slowly across both ways; each "
    "trigger twice; the hat round; each button five times, lightly, the last one held for half a second."
)
GLANCE_HINT = "Both sticks at once. What is done ticks itself. End it for what does not come."
GLANCE_MISSING = {
    "rest": "hands off for three seconds",
    "letgo": "eight directions, let go each time",
    "travel": "four sides, held for a moment",
    "rim": "once round and back",
    "sweep": "slowly across, both ways and back",
}
GLANCE_PRESSES = "presses"
GLANCE_GAPS = "gaps in the rhythm"
GLANCE_UNCLEAR = "{who}: not clear at a first look, needs the full check ({checks})"

CONTACT_DO = "Press {who} three times."
CONTACT_DO_TOGETHER = "Press every button three times, in any order: {who}."
CONTACT_HINT = "Firmly, and touch nothing else. Not seen? End it now."
CONTACT_CLOSED = "closed all the time: let go, or end it now"
CONTACT_ELSEWHERE = "{other} was pressed, press {who}"
CONTACT_UNSEEN = "no press of {who} seen"
CONTACT_REGISTERED = "registered"
CONTACT_RELEASED = "released"
CONTACT_OTHERS = "other controls that moved"
CONTACT_STAYED = "the last press stays closed"
CONTACT_OTHERS_SHORT = "others that moved"
STUCK = "{who}: stays closed"
NEVER = "{who}: never closes"
CROSSTALK_ONE = "{who}: {others} moves with it"
CROSSTALK_MANY = "{who}: {others} move with it"

# --- presses on the beat ------------------------------------------------------------------------------

LIGHT = "Light press"
LIGHT_SHORT = "light"
NORMAL = "Normal press"
NORMAL_SHORT = "normal"
FIRM = "Firm press"
FIRM_SHORT = "firm"
LONG = "Long light press"
LONG_SHORT = "long"
STRENGTHS = {"light": "light", "normal": "normal", "firm": "firm"}
HOW_TO_PRESS = {"light": "lightly", "normal": "as in play", "firm": "firmly"}
HOW_HARD = {
    "light": "Only just hard enough.",
    "normal": "As hard as in play, no harder.",
    "firm": "Well beyond the click, no harder than a thumb likes.",
}
PRESS_DO = "Press {who} {how} on each beat."
LIGHT_DO_TOGETHER = "Press {who} together, lightly, on each beat."
PRESS_DO_TWINS = "Press {who} and {twin} together, {how}, on each beat."
PRESS_HINT_TWINS = "{hard} Slipped with both? Take that beat back."
PRESS_HINT_ALONE = "{hard} No other button can vouch for you: take a beat back if you slipped."
LONG_SEES = "100 of them: of buttons with misses in runs of four it finds 85 in 100, the light press 55."
"""bad ones, 10 % missed; measured by tests/bench/light.py (docs/METHOD.md, section 5)"""
MASS_DO = "Set the mass of {mass} g on {who}, on each beat; lift it again."
MASS_DO_TWINS = "Set the mass of {mass} g on {who}, and press {twin} with it, on each beat; lift it again."
MASS_SOFTLY = "Set it down softly, do not drop it."
PRESS_NO_BEAT = "no beat was given"
PRESS_UNSEEN = "no press of {who} seen on a beat"
PRESS_ALONE = "too many beats that neither registered, press {who} without {twin}"
PRESS_MORE = "{presses} more; those made so far count"
PRESS_NO_WITNESS = "without a witness a slip of the hand counts as a miss"
PRESS_IDLE_WITNESS = "the witness was hardly pressed, so a slip of the hand counts as a miss"
PRESS_LATE = "{beats} before the first press left out"
PRESS_SELDOM = "what comes once in {seldom} presses shows in {share} % of such tests"
PRESS_UNDECIDED = "too many were missed to pass and too few to fail"
PRESS_HAND_SLIPS = "too many were missed to pass, but the hand slips so often that they may be its own"
PRESS_BESIDE = "{beats} on which another button was pressed left out"
PRESS_ELSEWHERE = "another button is pressed, press {who}"
PRESS_TWIN_ONLY = "only {twin} registered, press {who} too"
PRESS_NONE_COUNTED = "no press counted yet"
PRESS_NONE_REGISTERED = "no press registered yet"
PRESS_PERIOD_UNKNOWN = "uncertainty not known: the reports do not show the link's period"
OPENING_BLIND = (
    "the reports do not show how finely the link looks; an opening shorter than its period can go unseen",
    "at {rate} reports a second an opening shorter than {period} ms can go unseen",
)
CLOSURE_BLIND = (
    "the reports do not show how finely the link looks; a contact shorter than its period can go unseen",
    "at {rate} reports a second a contact shorter than {period} ms can go unseen",
)
MASS = "{mass} g"
PRESS_FORCE = "force of the mass"
PRESS_BEATS = "beats"
PRESS_REGISTERED = "registered"
PRESS_MISSED = "missed"
PRESS_SPLIT = "broken up"
PRESS_SHORT = "too short"
PRESS_NEITHER = "neither registered"
PRESS_STAYS_CLOSED = "stayed closed"
PRESS_LONGEST_RUN = "most faulty in a row"
PRESS_MISS_RATE_UPPER = "missed presses, at most"
PRESS_SHORTEST = "shortest press"
PRESS_TRIES = "tries counted together"
PRESS_SLIPS = "slips of the hand"
PRESS_GOOD_RATE = "sound: faulty presses up to"
PRESS_BAD_RATE = "worn: faulty presses from"
MISSES = "{who}: misses {strength} presses, {faulty} of {counted}"
SPLITS = "{who}: {strength} presses break up, {faulty} of {counted}"
SHORTS = "{who}: {strength} presses close only for a moment, {faulty} of {counted}"
STAYS_CLOSED = "{who}: stays closed after {strength} presses, {faulty} of {counted}"
NEITHER = "{who}: neither it nor its twin registered {faulty} of {counted} beats"
CONTRAST = "{who}: {failing} presses fail, {passing} ones pass: weak contact or worn actuator"
STRENGTH_WITH_FORCE = "{strength} ({force} N)"

# --- steady hold --------------------------------------------------------------------------------------

HOLD = "Steady hold"
HOLD_SHORT = "hold"
HOLD_DO = "Hold {who} down lightly for five seconds; rock it from half way on."
HOLD_HINT = "Only just hard enough. Rock: tilt it a little to all sides without letting up."
HOLD_ROCK = "rock it, {to_go}"
HOLD_CLOSED = "closed already: let go first"
HOLD_TOO_EARLY = "let go too early: hold it again"
HOLD_UNSEEN = "no press of {who} seen"
HOLD_LET_GO_FIRST = "let go of {who} first, then hold it"
HOLD_FOR_FIVE = "hold {who} for five seconds"
HOLD_BLIND = "the reports do not show how finely the link looks"
HOLD_BLIND_BELOW = "a dropout shorter than {period} ms can go unseen"
HOLD_DROPOUTS = "dropouts"
HOLD_LONGEST_DROPOUT = "longest dropout"
HOLD_ROCKING_DROPOUTS = "dropouts while rocked"
HOLD_LONGEST_ROCKING = "longest dropout while rocked"
HOLD_HELD = "held for"
DROPOUTS = "{who}: contact lost while held, {times}, longest {longest} ms"
ROCKING_DROPOUTS = "{who}: contact lost while rocked, {times}, longest {longest} ms"

# --- at rest ------------------------------------------------------------------------------------------

REST = "At rest"
REST_DO = "Hands off for three seconds."
REST_HINT = "First flick the stick left and right. Then lay the unit down so that nothing touches it."
REST_THEN = "After the last one hands off for three seconds."
REST_MORE = "hands off for {seconds} s more"
REST_LAY_DOWN = "lay the unit down and take the hands off for three seconds"
REST_FLICK = "flick the stick to the edge, let it snap back, then hands off"
REST_FLICK_MORE = "it rests now here, now there: flick it up and down, then hands off"
REST_HANDS_OFF = "take the hand off, the stick does not lie where it snapped back to"
REST_TREMBLES = "hands off, the stick trembles as in a hand"
REST_NO_ANGLE = "the offset is no more than its uncertainty"
REST_OFFSET = "off centre"
REST_OFFSET_ANGLE = "off centre, direction"
REST_NOISE_RMS = "noise, rms"
REST_NOISE_PP = "noise, peak to peak"
REST_NOISE_PP_SHORT = "noise, p-p"
OFFSET = "{who}: rests {offset} % off centre"
OFFSET_TOWARDS = "{who}: rests {offset} % off centre, {angle}"
NOISE_RMS = "{where}: noise of {rms} % rms at rest"
NOISE = "{where}: noise of {noise} % peak to peak at rest"

# --- let go -------------------------------------------------------------------------------------------

LETGO = "Let go"
LETGO_DO = "Flick to each of the eight directions and let go."
LETGO_HINT = "Push to the edge, let it snap back, wait half a second."
LETGO_THEN = "Wait half a second each time, then flick to the four corners as well."
LETGO_GUIDED = "let the stick snap back by itself, do not lead it"
LETGO_TOO_SHORT = "wait half a second after letting go, then flick again"
LETGO_MISSING = "flick to all eight directions, {directions} to go"
LETGO_ONCE_MORE = "once more all round, it does not come back alike: {directions} to go"
LETGO_NOISY = "the stick is too noisy to see when it settles; flick again and wait a second each time"
LETGO_RETURN_OFFSET = "off its usual place, let go"
LETGO_STILL_WITHIN = "least dead zone"
LETGO_HIDDEN_ZONE = "hidden by firmware"
LETGO_HIDES = "an offset behind a dead zone cannot be seen"
LETGO_STILL_IN_WORDS = (
    (5.0, "still within it; nearly every game hides that much (common practice, no source)"),
    (10.0, "still within it; most games hide that much by default (common practice, no source)"),
    (20.0, "drifts unless a game's dead zone is set larger than most (common practice, no source)"),
    (float("inf"), "drifts in nearly every game (common practice, no source)"),
)
"""up to so many percent: how a player meets the least dead zone in which the stick is still"""
LETGO_SETTLE_OFFSET = "off centre, let go"
LETGO_REPEATABILITY = "repeatability"
LETGO_SETTLE_TIME = "time to settle"
NO_RETURN = "{who}: let go from {start}, it stays {offset} % off centre, {towards}"
NO_RETURN_FROM = "{who}: let go from {start}, it stays {away} % from where it usually comes back to"
SCATTER = "{who}: comes back to a different place each time ({spread} %)"
SLOW_SETTLE = "{who}: takes {settle} ms to settle, let go from {start}"

# --- full travel --------------------------------------------------------------------------------------

TRAVEL = "Full travel"
TRAVEL_SHORT = "travel"
TRAVEL_DO = "Push fast to up, right, down and left; hold each for half a second."
TRAVEL_HINT = "Press firmly against the edge, then let go."
TRAVEL_MISSING = "push to {directions} and hold for half a second"
TRAVEL_ONCE_MORE = "push {directions} once more"
TRAVEL_FIRMLY = "push {direction} firmly to the edge and hold it there"
TRAVEL_FASTER = "push faster, {direction} above all"
RANGE_SHORT = (
    "go firmly to every stop once more; if it ends at {low} and {high} again, on other units too, those are the "
    "model's own ends: give them in its sheet (field = {{ … min = {low}, max = {high} }})"
)
TRAVEL_REACH = "reach"
TRAVEL_CREEP = "creep"
SHORT_REACH = "{where}: reaches only {reach} % of its travel"
CREEP = "{where}: creeps over the last part of the way for {creep} ms"

# --- round the rim ------------------------------------------------------------------------------------

RIM = "Round the rim"
RIM_SHORT = "rim"
RIM_DO = "Roll around the rim twice clockwise, then twice back."
RIM_HINT = "Press outwards all the way, about one turn a second."
RIM_WAYS = {"clockwise": "clockwise", "anticlockwise": "anticlockwise"}
RIM_MORE_TURNS = "more turns {ways}"
RIM_MISSING = "roll along the rim twice each way, {what}"
RIM_LEFT = "press outwards all the way round, the rim was left at {bearing}°"
RIM_LOOSE = "press outwards firmly all the way round, the turns differ from each other"
RIM_ALIKE = "the reach is alike over a wide angle"
RIM_UNEVEN = "the two ways do not cover the same sectors"
RIM_SECTORS = "sectors covered"
RIM_LEAST_REACH = "least reach"
RIM_LEAST_REACH_BEARING = "least reach, direction"
RIM_CIRCLE = "circle, centre"
RIM_CIRCLE_RADIUS = "circle, radius"
RIM_ROUNDNESS = "out of round"
RIM_TWO_WAY_DIFFERENCE = "two ways differ by"
FLAT_RIM = "{where}: the rim reaches only {reach} %"
TWO_WAY_LAG = "{where}: the two ways round differ by {difference} %"

# --- tracks: slow sweep and trigger pull --------------------------------------------------------------

TRACK_TOO_FAST = "swept too fast to tell a gap from the speed"
TRACK_SLOWER = "move more slowly, about two seconds for each way"
TRACK_SPIKES = "spikes"
TRACK_LARGEST_SPIKE = "largest spike"
TRACK_REVERSALS = "reversals"
TRACK_GAP = "widest gap"
TRACK_DEAD_ZONE = "firmware's dead zone"
TRACK_DEAD_ZONE_HIDES = "what the stick does inside it cannot be seen, an offset neither"
SPIKES_NONE = "{where}: noisy track, up to {largest} % at {at} % of travel"
SPIKES_AT = "{where}: noisy track, {spikes} at {first} %, up to {largest} % at {at} % of travel"
SPIKES_BETWEEN = "{where}: noisy track, {spikes} between {first} and {last} %, up to {largest} % at {at} % of travel"
GAP_FOUND = "{where}: no codes over {gap} % of the track around {at} %"
REVERSAL = "{where}: goes backwards against the motion around {at} %"

SWEEP = "Slow sweep"
SWEEP_SHORT = "sweep"
SWEEP_DO = "Move slowly left to right and back three times, then down to up and back three times."
SWEEP_HINT = "One and a half to two seconds for each way, edge to edge."
SWEEP_WAYS = {"x": "left to right and back", "y": "up and down"}
SWEEP_TO_GO = "{way}: {passes} to go"
SWEEP_MISSING = "sweep slowly {ways}, edge to edge, three times"

TRIGGER = "Trigger pull"
TRIGGER_SHORT = "pull"
TRIGGER_DO = "Pull slowly to the stop, then let go; three times."
TRIGGER_HINT = "About two seconds for each pull."
TRIGGER_TWO_IN_ONE = (
    "this axis rests in its middle, so it is two triggers in one: {why}; learn the model with “restpoint learn”"
)
TRIGGER_MISSING = "pull to the stop and let go, {pulls} to go"
TRIGGER_TO_THE_STOP = "pull the {who} right to its stop each time"
TRIGGER_FINGER_OFF = "take the finger off the {who} after each pull"
TRIGGER_LET_GO = "let go of the {who} at once, do not lead it back"
TRIGGER_RETURN_TIME = "time to come back"
SLOW_RETURN = "{who}: takes {back} ms to come back when let go"
TRIGGER_RELEASED = "released"
TRIGGER_FULL = "full pull"
REST_HIGH = "{who}: stands at {released} % when let go"
SHORT_PULL = "{who}: reaches only {full} % when pulled"

# --- hat ----------------------------------------------------------------------------------------------

HAT = "Hat"
HAT_DO = "Roll {who} slowly through all eight directions, then let go."
HAT_HINT = "Roll twice. A direction that does not come? End it now."
HAT_EIGHTHS = ("up", "up-right", "right", "down-right", "down", "down-left", "left", "up-left")
HAT_MANY_TO_GO = "{directions} directions to go"
HAT_ALL_EIGHT = "roll {who} through all eight directions"
HAT_SKIPPED = "roll {who} slowly through {directions}"
HAT_NOT_REPORTED = "the hat has not reported yet"
HAT_DIRECTIONS = "directions seen"
HAT_NULL_RETURNS = "returns to the middle"
MISSING_DIRECTION = "{who}: no {eighth}"
MISSING_ALL = "{who}: no direction at all"
NO_NULL = "{who}: does not return to its middle"

# --- link ---------------------------------------------------------------------------------------------

LINK = "Link"
LINK_DO = "Keep a stick moving in circles for ten seconds."
LINK_HINT = "Flex the cable at both ends meanwhile, or walk off with a wireless unit."
LINK_THEN = "Then go on in circles and flex the cable at both ends, or walk off with a wireless unit."
LINK_MORE = "keep a stick moving for {seconds} s more"
LINK_NOTHING = "move a stick, nothing has come from the unit yet"
LINK_TEN_SECONDS = "keep a stick moving for ten seconds"
LINK_ALL_THE_TIME = "keep a stick moving all the time"
LINK_LOST = "the computer lost reports, close other programs"
LINK_STILL = "nothing moved"
LINK_INTERVAL_MEDIAN = "report interval, median"
LINK_INTERVAL_P99 = "report interval, 99 in 100"
LINK_LONGEST = "longest interval, in this try"
LINK_WAIT_MEAN = "wait of a movement, on the average"
LINK_WAIT_MOST = "wait of a movement, 99 in 100"
LINK_WAIT_EXTRA = "of that wait, by irregularity"
LINK_WAITS = "a movement waits up to {most} ms before it is reported, {mean} ms on the average"
LINK_OVER_RADIO = "measured over radio"
LINK_OVER = {
    "usb": "measured over USB: a cable, or a receiver in the socket",
    "bluetooth": "measured over radio",
}
"""by the bus that the system tells; a receiver in a USB socket looks like a cable"""
LINK_GAPS = "gaps in the reports"
LINK_DISCONNECTS = "disconnects"
LINK_BATTERY = "battery, by its own word"
LINK_CHARGING = "says it charges"
LINK_FULLY_CHARGED = "says it is full"
LINK_POWERED = "says it has outside power"
GAPS = "link: {gaps} in the reports while moving, the longest {longest} ms"
DISCONNECT = "link: went away {times}"
SLOW_RATE = "link: reports only every {interval} ms"
IRREGULAR = "link: reports come irregularly, a movement waits {wait} ms on the average, up to {most} ms"

# --- the cell over a visit ----------------------------------------------------------------------------

CELL = "Cell under load"
CELL_DO = "Go on with the other checks, the unit on its own cell."
CELL_HINT = "A cell that is hot, swollen, leaking or smells: stop and set the unit aside, do not charge it."
CELL_TOO_SHORT = "leave the unit on its own cell for ten minutes of the visit"
CELL_BEFORE = "cell, at first"
CELL_AFTER = "cell, at last"
CELL_FALL = "fell by"
CELL_FALL_PER_HOUR = "falls, an hour"
CELL_FALL_AT_LEAST = "falls at least, an hour"
CELL_GAINED = "gained with outside power"
CELL_ON_CELL = "time on its cell"
CELL_VIBRATED = "motors ran for"
CELL_STEPS = "told in steps of {step} %: over this time a fall by less than {blind} % an hour cannot be seen"
FALLS_FAST = "the cell falls by {fall} % an hour, by {least} at least"

# --- what the person answers --------------------------------------------------------------------------

ASKS = {"rumble": "Rumble", "charge": "Charge", "look": "Look"}
ASK_DO = "Look and say whether it is right."
ASK_METER = "Type in the meter's reading ({meter}); without one, Y says looked at, not measured."
ASK_YOUR_WORD = "your word"
ASK_SAY = "say pass or fail"
ASK_NO_METER = "no meter reading was typed in"
METER_READINGS = {
    "vbus_low": "supply, lower end",
    "vbus_high": "supply, upper end",
    "voltage": "voltage",
    "current": "current",
}
ASK_NOT_RIGHT = "{ask}: not right, by the person's word"
LOOK_STOP = "{ask}: {sign}; not to be plugged in, charged or opened any further"
LOOK_SIGNS = {"bulging": "bulging", "wet": "wet", "hot": "hot", "smelling": "smelling", "broken": "broken"}
ASK_METER_SHOWS = "{ask}: the meter shows {meter}"

# --- limits -------------------------------------------------------------------------------------------

LIMITS_UNREADABLE = "The limits file {path} cannot be read ({error}); restore it from the package."
LIMITS_NOT_TOML = "The limits file {path} is not valid TOML ({error}); correct that line."
LIMITS_NO_TABLE = "The limits file {path}, {check}: a table of readings is expected; write [{check}]."
LIMITS_WRONG_PAIR = "The limits file {path}, {check}.{reading}: {problem}; write [pass, fail beyond]."
LIMITS_LACKING = "The limits file {path} has no {check}.{reading}; restore it from the package."
SHEET_LIMITS = 'Sheet "{sheet}", limits.{check}'
SHEET_NO_CHECK = "{where}: no check of that name has limits; use one of {known}."
SHEET_NO_LIMIT = "{where}.{reading}: that reading has no limit; use one of {known}."
SHEET_WRONG_PAIR = "{where}.{reading}: {problem}; write [pass, fail beyond]."
SHEET_NO_METER = "{where}.{reading}: the ask has no such reading; use one of its meter's ({known})."
SHEET_METER_NONE = "none: the ask has no meter"
PAIR_TWO_NUMBERS = "two numbers are expected"
PAIR_NOT_FINITE = "{number} is not a finite number"
PAIR_AT_LEAST = "the second number must be at least the first"
PAIR_LESS = "the second number must be less than the first"
PAIR_RATES = "two shares between 0 and 100 % are expected, the good one smaller than the bad one"

# --- held together ------------------------------------------------------------------------------------

TOGETHER = "Held together"
TOGETHER_DO = (
    "Hold all shoulder and back buttons, tap each twice. Keep them held: hold a place with the left thumb, press all "
    "of the right one's, and so on."
)
TOGETHER_HINT = "Then hold the right buttons flat, tap the others twice; last, hold one and tap the rest twice."
TOGETHER_DO_ANY = "Hold as many buttons as both hands can, and let go one by one."
TOGETHER_HINT_ANY = "Then others. Nobody has said where the controls lie, so end it yourself."
TOGETHER_BEGIN = "hold the shoulder and back buttons"
TOGETHER_NEXT = "hold {who} and tap {partners}, then the other way round"
TOGETHER_TAP = "hold {held} and tap {who} twice"
TOGETHER_ONCE_MORE = "once more with the tips of two fingers: hold {other} and {who}, let go of one after the other"
TOGETHER_MORE_ANY = "{pairs} pairs seen: go on, or end it"
TOGETHER_FEW = "hold several buttons at once, let go one by one"
TOGETHER_SIDE = "{hat} {side}"
TOGETHER_WITH = "{who} with {partners}"
TOGETHER_MORE = "{pairs} more"
TOGETHER_BETWEEN = "; "
TOGETHER_NOT_SEEN = "not seen together: {pairs}"
TOGETHER_NOT_TAPPED = "not tapped while another was held: {contacts}"
TOGETHER_UNTAPPED = "not tapped with another held"
TOGETHER_VANISHING = "vanish while another is held"
TOGETHER_APPEARING = "appear while others are held"
TOGETHER_PAIRS = "pairs seen together"
TOGETHER_UNSEEN = "pairs not seen together"
VANISHES = "{who} is not seen while {hider} is held"
APPEARS = "{who} closes without a finger while {held} are held"

# --- motion -------------------------------------------------------------------------------------------

AXES_OF_MOTION = {"x": "x", "y": "y", "z": "z"}
STILL = "Motion at rest"
STILL_DO = "Lay the unit down and leave it alone for three seconds."
STILL_HINT = "On a table that nobody leans on."
STILL_MORE = "leave it lying for {seconds} s more"
STILL_MOVED = "lay it down and leave it alone for three seconds"
STILL_NORM = "acceleration at rest"
STILL_NORM_ERROR = "acceleration at rest, off from 1 g"
STILL_GYRO = "turning shown at rest, {axis}"
STILL_ACCEL_NOISE = "noise of acceleration, rms, {axis}"
STILL_GYRO_NOISE = "noise of turning, rms, {axis}"
STILL_ACCEL_REST = "acceleration at rest, {axis}"
STILL_GYRO_REST = "turning at rest, share of the range, {axis}"
NO_UNIT = "the device gives no unit, so this is not judged"
ACCEL_NORM = "{who}: shows {norm} g at rest"
GYRO_OFFSET = "{who}: shows a turning of {offset}°/s at rest about {axis}"
MOTION_NOISE = "{who}: noise of {noise} {unit} rms at rest along {axis}"
SIDES = "Six sides"
SIDES_DO = "Lay or hold the unit still on each of its six sides for a second, one after the other."
SIDES_HINT = "Turn it by a quarter each time; which side is up is seen by itself."
SIDES_MORE = "{seen} of six sides seen: turn it to another one and hold it still"
SIDES_TURN = "turn it a quarter about another edge, and hold it still"
SIDES_NOT_FIT = "hold it more still on each side"
SIDES_SENSITIVITY = "sensitivity to acceleration, {axis}"
SIDES_ERROR = "sensitivity to acceleration, error, {axis}"
SIDES_OFFSET = "offset of acceleration, {axis}"
SIDES_RELATIVE = "sensitivity against the mean, {axis}"
SIDES_TURNED = "quarter turn, error, {axis}"
SIDES_SEEN = "sides seen"
ACCEL_SCALE = "{who}: acceleration along {axis} reads wrong by {error} %"
ACCEL_OFFSET = "{who}: acceleration along {axis} is off by {offset} g"
GYRO_SCALE = "{who}: turning about {axis} reads wrong by {error} %"
DEAD_GYRO = "{who}: no turning shown about {axis}"
DEAD_ACCEL = "{who}: no acceleration shown along {axis}"

# --- touch pad ----------------------------------------------------------------------------------------

UNTOUCHED = "Touch pad at rest"
UNTOUCHED_DO = "Hands off the touch pad for three seconds."
UNTOUCHED_HINT = "Lay the unit down so that nothing touches it."
UNTOUCHED_MORE = "hands off the touch pad for {seconds} s more"
UNTOUCHED_TOUCHES = "touches although nobody touched it"
UNTOUCHED_SHARE = "time touched by nobody"
GHOST_TOUCH = "{who}: feels a finger that is not there, {times}"
SWIPE = "Swipe"
SWIPE_DO = "Swipe one finger to and fro over all of the touch pad, then once more up and down."
SWIPE_HINT = "Evenly, from edge to edge, lines a finger's width apart."
SWIPE_MORE = "swipe over the {where} as well"
SWIPE_BEGIN = "swipe over the touch pad"
SWIPE_PLACES = (
    ("lower left", "lower middle", "lower right"),
    ("left", "middle", "right"),
    ("upper left", "upper middle", "upper right"),
)
SWIPE_FELT = "touch pad felt"
SWIPE_DEAD = "places that feel nothing"
SWIPE_LOST = "finger lost on its way"
SWIPE_LONGEST = "longest loss of the finger"
SWIPE_JUMPS = "jumps"
DEAD_ZONE = "{who}: feels nothing over {share} % of the pad, {where_at}"
LOST_TOUCH = "{who}: loses the finger on its way, {times}, for {longest} ms at most"
TOUCH_JUMPS = "{who}: the finger jumps, {times}"

# --- quiet --------------------------------------------------------------------------------------------

QUIET = "Quiet"
QUIET_DO = "Lay the unit down and leave it alone."
QUIET_HINT = "Nothing else to do: what moved by itself was counted all along."
QUIET_MORE = "leave it alone for {seconds} s more"
QUIET_TOO_SHORT = "leave the unit plugged in until it was watched for a minute"
QUIET_BY_ITSELF = "moved by itself, occasions at most"
QUIET_PERHAPS = "movements that a hand may have made, most of one control"
QUIET_BRUSHES = "brushes against a neighbour"
QUIET_WATCHED = "watched for"
QUIET_AT = "{minutes}:{seconds}"
BY_ITSELF = "{who} closes or moves by itself: {times}, at {at} of the visit"
PERHAPS_BY_ITSELF = (
    "{who} moved {times} although nobody was asked to touch it, at {at}: if a hand did it, pass Quiet by hand and say "
    "so; else watch it with hands clear of it"
)
