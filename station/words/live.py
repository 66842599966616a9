"""The Live pane: what the unit reports now."""

NOT_PLUGGED_IN = "No unit is plugged in"
NOT_HERE = "{tag} is not plugged in"
LAST_MEASURED = "What was measured last:"
NEVER_MEASURED = "Nothing was measured yet. Plug it in to test it."
LAST_HEADS = ("Check", "Came to", "Measured", "Limit", "When")
NOT_TAUGHT = "The device does not say which controls it has: they are drawn here once it has been taught"

# --- dials and trigger columns --------------------------------------------------------------------------

NO_REPORT_YET = "no report yet:\nmove it"
NOT_MEASURED_YET = "not measured yet"
MEASURED_WITH_LIMIT = "{name} {value} · {limit}"
TRIGGERS = ("trigger", "triggers")
NO_FIGURE = "–"

# --- against time ---------------------------------------------------------------------------------------

CONTACTS = "Contacts, last 10 seconds"
QUIET = "quiet: {names}"
UNHEARD = "no report yet: {names}"
"""contacts that are folded away, by name"""
NOW = "now"
"""at the right end of the time axis"""
BEATS = {"missed": "miss", "split": "split", "short": "short", "void": "void"}
LAST_CHECK = "Last check against time"
PULL = "pull"
"""how far a trigger is pulled, beside its line"""
