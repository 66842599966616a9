"""What the one key does now, as the foot of the window says it."""

KEY = "Space: {what}"
MEANS = {
    "visit": "begin the visit of {tag}",
    "whose": "say whose unit it is",
    "end": "end this check",
    "wait": "wait",
    "start": "start this check",
    "next": "next check",
    "finish": "finish the visit",
    "store": "try to store again",
}

# --- asked before a check that runs is interrupted ---------------------------------------------------------

LEAVES_CHECK = "That leaves the check that runs, and what was done of it is lost: the same key again does it."
