"""What sellers say of a unit: by which words a claim is bound to controls, and what kind of complaint it is."""

CONTROLS = {
    "left_stick": ("left stick", "left analog", "left analogue", "left thumbstick", "left joystick", "l stick", "ls"),
    "right_stick": (
        "right stick", "right analog", "right analogue", "right thumbstick", "right joystick", "r stick", "rs",
    ),
    "left_trigger": ("left trigger", "l trigger", "lt"),
    "right_trigger": ("right trigger", "r trigger", "rt"),
    "left_shoulder": ("left shoulder", "left bumper", "l shoulder", "lsh"),
    "right_shoulder": ("right shoulder", "right bumper", "r shoulder", "rsh"),
    "hat": ("hat", "direction pad", "directional pad", "d pad", "dpad"),
}  # fmt: skip
"""id of a control in a sheet → what it is called besides the name there"""
BOTH_SIDES = r"\bleft (?:and |or )?right (\w+)"
BOTH_SIDES_AS = r"left \1 right \1"
"""a pattern of what names the controls of both sides at once, and how it is read"""
PARTED_BY = r"[,;+&]|\band\b"
"""a pattern of what stands between two complaints"""
KINDS = {
    "stick": ("stick", "sticks", "analog", "analogue", "thumbstick", "thumbsticks", "joystick", "joysticks"),
    "trigger": ("trigger", "triggers"),
    "button": ("button", "buttons"),
}
"""kind of control → words for all of that kind, where none is named"""
STEMS = {
    "drift": ("drift", "moves by itself", "moves on its own", "wanders", "pulls"),
    "jitter": ("jitter", "twitch", "jump", "shak", "unsteady"),
    "reach": ("full tilt", "does not reach", "doesn't reach", "not to the edge", "short reach", "full range"),
    "slow": ("slow", "late", "lag", "sluggish"),
    "double": ("twice", "double", "several times"),
    "dead": (
        "does not react", "doesn't react", "not reacting", "does not work", "doesn't work", "not working",
        "no response", "does not respond", "unresponsive", "dead", "misses", "sometimes works",
    ),
    "stuck": ("sticks", "sticky", "stuck", "jam", "hangs"),
    "link": ("disconnect", "connection", "drops out", "cable", "usb", "port"),
    "power": ("does not turn on", "doesn't turn on", "no power", "will not start", "does not start", "won't turn on"),
    "charge": ("charg", "battery"),
    "rumble": ("rumble", "vibrat", "motor"),
    "looks": ("scratch", "crack", "worn", "dirty", "grip", "broken case"),
    "any": ("broken", "defect", "faulty", "bad", "for parts", "not ok", "untested", "as is"),
}  # fmt: skip
"""kind of complaint → beginnings of words that tell it; the first kind of which one stands in the claim"""
SHORT = {
    "drift": "drifts",
    "jitter": "twitches",
    "reach": "does not reach the edge",
    "slow": "reacts late",
    "double": "presses twice",
    "dead": "does not react",
    "stuck": "is stuck",
}
"""kind of complaint → how it is said of a control, when it was typed short"""
CLAIM = "{control} {complaint}"
CLAIMS_OF_SOURCE = "Claims of {source}, {lots}: {states}; not judged yet: {open}."
STATE_OF = "{state} {share}"
LOTS = ("lot", "lots")
AT_FIRST_LOOK = {
    "found": "Claim “{claim}”: found.",
    "not found": "Claim “{claim}”: not found at a first look.",
    "something else": "Claim “{claim}”: not found, but something else.",
    "unclear": "Claim “{claim}”: needs the full check.",
}
LOOKED = {
    "found": "found at a first look",
    "not found": "not found at a first look",
    "something else": "something else, at a first look",
    "unclear": "needs the full check",
}
"""the same in the record"""
BY_RESULTS = "{state} by its results"
"""the state of a claim that nobody has set"""
