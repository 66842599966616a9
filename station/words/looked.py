"""What a check looked at in the reports of a try: why it left a stretch out, what shows at a place; a few words."""

NEVER_CALM = "it was never still for long enough"
BEFORE_CALM = "before the stick lay still"
AFTER_CALM = "after the stick lay still"
RESTS_HERE = "rests here"
NOISE_HERE = "noise at rest"

LED_BACK = "the hand led it back"
SETTLES_AWAY = "settles farthest from the others"
SETTLES_SLOWLY = "slowest to settle"
SETTLED = "settled here"

NOT_AS_FAR = "not as far as the farthest push, or held in the air"
REACHES = "farthest push {direction}"
CREEPS = "quickest push {direction}"

FLAT_HERE = "least reach"
LAGS_HERE = "the two ways differ most"

NO_PASS = "between two passes"
SPIKE = "spike of {height} % at {at} %"
GAP = "codes missing over {width} % at {at} %"
REVERSAL = "runs backwards at {at} %"
LEAST_HERE = "least value"
MOST_HERE = "greatest value"

BEFORE_HELD = "before the press"
AFTER_HELD = "after five seconds, or after it was let go"
OPEN_FOR = "open for {ms} ms"

STAYS_CLOSED = "stays closed"
NEVER_CLOSES = "never closes"
MOVES_ALONG = "{other} moves along"

BEAT_ANSWERED = "beat, answered"
BEAT_MISSED = "beat, no press registered"
BEAT_SPLIT = "beat, press split in two"
BEAT_SHORT = "beat, closed too short"
BEAT_STAYS = "beat, stays closed"
BEAT_NEITHER = "beat that neither registered"
BEAT_TOO_EARLY = "the hand had not begun yet"
BEAT_BESIDE = "another button was pressed in its place"

SILENT_FOR = "silent for {ms} ms"
WENT_AWAY = "the unit went away"
