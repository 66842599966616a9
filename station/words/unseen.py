"""What a check cannot see, and where it differs what a single reading cannot: the same sentence on the card of a check
that is done, on a certificate and in docs/METHOD.md, section 11. They go on after "Cannot be seen: "."""

CARD = "Cannot be seen: {what}."
OF_CHECK = "{check}: {what}."
NEXT = "; "

GLANCE = (
    "presses that a hand in its own rhythm passes over, and faults that come once in many presses; a contact that "
    "drops out less often than every half second; what shows only in combinations, on the touch pad, in motion or "
    "after minutes; what lies outside its limit by less than its uncertainty"
)
CONTACT = "a short that closes for less than half of the presses, or pulls an axis by less than the check asks for"
PRESSES = (
    "how hard a finger pressed; faults that come once in hundreds of presses; misses in runs with long sound stretches "
    "between them; without a twin, a contact that stays closed after every press"
)
PRESS_STAYS = (
    "a contact that stays closed only once in 50 presses: 31 presses show it in 47 % of tests, the 100 of the long "
    "form in 87 %; without a twin, a contact that stays closed after every press"
)
PRESS_TIMES = "what is shorter than the link's period; faults that come once in hundreds of presses"
PRESS_FORCE = "what the hand adds when the mass is set down fast; a mass that stands askew"
HOLD = "dropouts shorter than the link's period, and those that the firmware filters out"
REST = "an offset behind a dead zone of the firmware"
REST_NOISE = "noise faster than the reports, jumps rarer than once in some seconds, and what the firmware filters out"
LETGO = "a fault that shows only when the stick is let go more slowly than a flick"
LETGO_SETTLES = (
    "a fault that shows only when the stick is let go more slowly than a flick; what happens behind a dead zone"
)
HIDDEN_ZONE = "what the stick does inside a dead zone of the firmware, an offset too"
TRAVEL = "what lies beyond the last code; a short stop straight across a direction, where the push is aimed beside it"
CREEP = "a creep over less than the last 2 % of the way"
RIM = "a dent narrower than 5°; what lies less than 0.5 % short of the end of the range where noise reaches the end"
SPIKES = (
    "a spike shorter than the distance between two reports; a stretch that was not crossed, off the axis; a bad "
    "contact that lasts longer than a tenth of a second"
)
REVERSALS = "a stretch that was not crossed, off the axis; one that falls back by less than 3 %"
GAP = "a gap no wider than the noise; a stretch that was not crossed, off the axis"
TRIGGER = "two triggers that a platform presents as one axis: they cannot be measured apart"
HAT = "how hard a direction must be pressed"
LINK = (
    "how long the unit itself takes until it reports, what its radio sends again inside the receiver but for the time "
    "that it takes, and what the game and the screen add"
)
LINK_OVER = "a receiver in a USB socket: it looks like a cable"
LINK_GAPS = "what shows only in another place, or after longer use than ten seconds"
LINK_CELL = "whether what the unit says of its cell is true; steps coarser than those of the field"
HOLD_ROCKED = "whether the button was in truth rocked, and how far; dropouts shorter than the link's period"
TOGETHER = (
    "triggers and sticks; what appears at a contact that is held itself; what three or more at once do only now and "
    "then; pairs in the middle unless they were held too"
)
STILL = "an error of an axis that does not point up or down, a dead axis, and an offset that the firmware takes off"
SIDES = "sensitivity across axes, axes that are not at right angles, the sign of an axis, and faults at fast turns"
UNTOUCHED = "ghosts rarer than once in three seconds, and those that come only with a finger on the pad"
SWIPE = "dead places at the very edge or smaller than the distance of the strokes; two fingers at once"
QUIET = (
    "what is rarer than once a visit; closures between two polls; what happens only in pauses; what comes by itself at "
    "the back or beside the hand while but one control is worked"
)
CELL = (
    "a fall by less than its uncertainty; whether the level that the unit tells is true, and how the cell does under "
    "more than the visit asks of it"
)
ASK = "what the person did not look at"
METER = "dips between two looks at the meter"
ALONE = (
    "what comes more seldom than once in a third of the time; closures between two polls; why a unit went away; one "
    "that falls silent without leaving"
)
