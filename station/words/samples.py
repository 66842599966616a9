"""Simulated units: the sample lot, the invented model they are of, and what a simulation refuses."""

MODELS = {"8bit": "Plover T2", "16bit": "Plover T2 Wide", "packed": "Plover T2 Compact", "sensing": "Plover T2 Motion"}
"""as the sheets in sample_units name them"""
LOT_SELLER = "a closed youth games room"
LOT_NOTE = "Saltmarsh Reuse Workshop, demo scenario: twelve pads, all invented"
CONTROLS = {
    "left_stick": "Left stick",
    "right_stick": "Right stick",
    "left_trigger": "Left trigger",
    "right_trigger": "Right trigger",
    "hat": "Hat",
    "south": "South button",
    "east": "East button",
    "west": "West button",
    "north": "North button",
    "left_shoulder": "Left shoulder",
    "right_shoulder": "Right shoulder",
    "left_paddle": "Left paddle",
    "right_paddle": "Right paddle",
    "select": "Select",
    "start": "Start",
    "left_stick_press": "Left stick press",
    "right_stick_press": "Right stick press",
    "home": "Home",
    "mode": "Mode",
    "motion": "Motion sensor",
    "touch_1": "Touch pad, contact 1",
    "touch_2": "Touch pad, contact 2",
}

TITLES = {
    1: "sound",
    2: "left stick off centre",
    3: "noisy track of the right stick",
    4: "left stick reaches short upwards",
    5: "right stick arrives slowly on the right",
    6: "weak contact under the left shoulder",
    7: "right shoulder opens for a split second",
    8: "two faults: left stick worn, right trigger never quite released",
    9: "worn left trigger",
    10: "hat without its downward direction",
    11: "left stick stays away when it comes back from the right",
    12: "loose cable: the stream stops while it is flexed",
}
CLAIMS = {
    2: "moves by itself",
    3: "right stick twitches",
    5: "feels slow",
    6: "left stick bad",
    7: "button presses twice",
    8: "left stick bad",
    10: "does not turn on",
    12: "cable bad",
}
"""what the seller said of a unit, where anything was said"""

FAULTS = {
    "off_centre": "rests {size:g} % off centre",
    "noisy_track": "{size:g} % peak to peak",
    "worn_track": "spikes of {size:g} % around {at:g} %",
    "code_gap": "no codes over {size:g} % around {at:g} %",
    "fold": "runs back by {size:g} % at {at:g} %",
    "short_reach": "reaches {size:g} %",
    "flat_rim": "reaches {size:g} %",
    "slow_arrival": "{ms:g} ms from 80 % to the end",
    "slow_settle": "{ms:g} ms to come to rest",
    "no_return": "stays {size:g} % off centre",
    "scatter": "repeatability {size:g} %",
    "two_way_lag": "the two ways differ by {size:g} %",
    "dead_axis": "no signal",
    "weak_contact": "{size:.0%} of light presses do not register",
    "split": "opens for {ms:g} ms in {size:.0%} of presses",
    "short_contact": "closes for {ms:g} ms only in {size:.0%} of presses",
    "missed_in_runs": "{size:.0%} of presses do not register, in runs",
    "missed_together": "{size:.0%} of presses do not register, together with others",
    "stays_closed": "stays closed for {ms:g} ms after {size:.0%} of presses",
    "dropouts": "{size:g} dropouts of {ms:g} ms a second while held",
    "wobbly": "rocked by more than {size:g}°, the contact is lost",
    "hidden": "not seen while {other} is held",
    "phantom": "closes while {other} and another are held",
    "accel_scale": "acceleration along {axis} reads {size:g} of the truth",
    "accel_off": "acceleration along {axis} off by {size:g} g",
    "gyro_scale": "turning about {axis} reads {size:g} of the truth",
    "gyro_off": "turning about {axis} off by {size:g}°/s",
    "ghost_touch": "feels a finger every {size:g} s for {ms:g} ms",
    "dead_zone_of_touch": "feels nothing over {size:g} % of its width and height",
    "lifts": "loses the finger {size:g} times a second for {ms:g} ms",
    "stuck": "always closed",
    "never": "never closes",
    "crosstalk": "closes {other} along with it",
    "closes_at_times": "closes by itself every {size:g} s for {ms:g} ms",
    "closes_when_pushed": "closes by itself while {other} is pushed beyond {size:g} %",
    "twitches": "jumps every {size:g} s for {ms:g} ms",
    "drifts": "wanders off by {size:g} % as it warms up",
    "drops_out": "leaves the bus every {size:g} s for {ms:g} ms",
    "hanging_trigger": "stays at {at:g} % for {ms:g} ms after {size:.0%} of pulls",
    "axis_short": "pulls {other} to its end",
    "rest_high": "stands at {size:g} % when let go",
    "short_pull": "reaches {size:g} %",
    "trigger_spikes": "spikes of {size:g} % around {at:g} %",
    "trigger_gap": "no codes over {size:g} % around {at:g} %",
    "trigger_fold": "runs back by {size:g} % at {at:g} %",
    "hat_missing": "never comes, with its neighbours if it is a side",
    "hat_no_null": "the contact of that side is stuck",
    "link_gaps": "{size:g} gaps of {ms:g} ms a second while the cable is flexed",
    "disconnect": "gone {size:g} times a second for {ms:g} ms while the cable is flexed",
    "slow_rate": "{size:g} reports a second",
}
"""kind of a fault → how large it is"""

NO_SUCH_SAMPLE = "There is no sample unit {tag!r}; choose one of {tags}."
NO_SUCH_LAYOUT = "There is no report layout {kit!r}; choose 8bit, 16bit or packed."
RATE_OUTSIDE = "A rate of {rate} reports a second cannot be simulated; give 10 to 8000."
NO_SUCH_CONTROL = "A {model} has no control {control!r}; choose one of its controls."
NO_SUCH_FAULT = "There is no fault {kind!r}; choose one of {kinds}."
FAULT_MISPLACED = "{control} cannot have the fault {kind}; choose one that fits its kind of control."
FAULT_WITHOUT_DIRECTION = "A fault of the kind {kind} needs a direction; give one."
SETTLE_OUTSIDE = "A settle time of {ms:.0f} ms cannot be simulated; give 100 to 2000 ms."
SHOP_NAME = "Mill Lane Repairs"
SHOP_CONTACT = "bench@mill-lane.example"
SHOP_PERSON = "Ines"
