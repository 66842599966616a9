"""How a reading, its limit and its verdict are put, in the window, on a certificate and by `assess`."""

PART = "{name}, {part}"
AXES_SHORT = {"x": "horiz.", "y": "vert."}
NO_VALUE = "no value"
AT_MOST = "≤\N{NO-BREAK SPACE}{limit}"
AT_LEAST = "≥\N{NO-BREAK SPACE}{limit}"
FAILS_ABOVE = "{limit} · fails > {beyond}"
FAILS_BELOW = "{limit} · fails < {beyond}"

UNKNOWN_FINDING_OF = "{who}: {code}"
REASON = "{name}: {reason}"
VALUE_AND_REASON = "{name} {value}: {reason}"
REPORTED = "{name} {value}"
SHOULD_AT_MOST = "{name} {value}, should be at most {limit}"
SHOULD_AT_LEAST = "{name} {value}, should be at least {limit}"
