"""The Checklist pane: the card of the current step and the list of all of them."""

CHECKLIST = "Checklist"
DONE_OF = "{done} of {total} done"
DONE_AND_SKIPPED = "{done} of {total} done, {skipped} skipped"
NAME_AND_SAID = "{name} {said}"
CHECK_AND_DETAIL = "{check} · {detail}"
BY_HAND = "{outcome} by hand"
RUNNING = "running"
SKIPPED = "skipped"
FAULTY = "{faulty} of {counted} faulty"
NEXT_READING = "; "

# --- the card without a visit: title, headline, what to do, keys ------------------------------------------

NO_VISIT = (
    "No visit",
    "Nothing to check yet",
    "Plug in a unit, or press D for a simulated one.",
    "D: sample unit · U: find a unit",
)
TO_BE_TAUGHT = (
    "No visit",
    "To be taught",
    "A guided walk learns which controls it has.",
    "F5: teach it · U: find a unit",
)
WHOSE_UNIT = (
    "No visit",
    "Whose unit is it?",
    "Say so above: its tag, or Enter.",
    "P: answer above · U: find a unit",
)
WHOSE_UNIT_OR_TEACH = (
    "No visit",
    "Whose unit is it?",
    "Say so above: its tag, or Enter.",
    "P: answer above · F5: teach it · U: find a unit",
)
UNIT_WITHOUT_VISIT = "No visit"
ENTER_STARTS = "Enter starts its visit."
V_STARTS = "V starts a visit."
PLUG_IT_IN = "Plug it in to check it."
LOOK_FIRST = "Look it over before you plug it in: is it bulging, wet, hot, smelling, broken?"
LOOK_KEYS = "Y: nothing of it · X: one of these · T: treatment · N: note · E: edit"
STOPPED = "Stop: it is {sign}. Do not plug it in, charge or open it any further; set it aside as your local rules say."
STOPPED_KEYS = "Y: looked again, nothing of it any more · X: something else · T: treatment · E: edit"
UNDER_WAY = "Under way: {treatment}. T: done, or pause."
IS_LEFT_ALONE = "It is left alone: hands off. Shift+W ends it."
PLAN = "Next, as listed below: {kind}, {checks}"
PLAN_LEFT = "Not finished, as listed below: {kind}, {left} of {checks} to go"
CHECKS = ("check", "checks")
UNIT_KEYS = "V: start a visit · T: treatment · N: note · C: certificate · E: edit"

# --- the card of a step ---------------------------------------------------------------------------------

UNIT_AWAY = "The unit is away. Plug it in again."
ASKED_WHILE_AWAY = "{away} The question can be answered meanwhile."
COUNTING_IN = "listen: counting in"
COMPLETE = "complete"
OUTCOME_AND_REASON = "{outcome}: {reason}"
DONE_AFTER = "{done} · {tries}"
TRIES = ("try", "tries")
METER = "Meter, {unit}"
NO_FIGURE = "“{text}” is no figure that a meter shows; type one such as 5.02, then answer again."
CUT = "{text}…"
COUNTED = "{count}\N{NO-BREAK SPACE}{what}"

# --- the card at the end ----------------------------------------------------------------------------------

VISIT_FINISHED = "Visit finished"
NO_CHECK_MADE = "No check was made."
FIRST_LOOK_SAW_NOT = (
    "Not looked for: a weak contact that misses a press now and then, and what comes by itself or after minutes. Five "
    "presses show one that fails often; the full check (V: intake) presses until it is sure."
)
KEYS_FINISHED = "T: treatment · C: certificate · V: another visit"
ENDS_BY_ITSELF = "Everything passed: the visit ends by itself."
KEYS_ENDS = "Space: wait · R: do the last one again · G: always wait"
KEYS_ALL_DONE = "Space: finish the visit · Up, Down: choose a check · R: do the last one again"

# --- the keys that matter now -----------------------------------------------------------------------------

KEYS_AWAY = "M: mark by hand · S: skip · F: end the visit"
KEYS_ASKED = "Y: good · X: not good · S: skip · M: mark by hand"
KEYS_ASKED_FIGURES = "Figures, then Y: good · X: not good · S: skip · M: mark by hand"
KEYS_RUNNING = "Space: end · R: begin again"
KEYS_RUNNING_LOOK = "Space: end · X: pressed, and it did not come · R: begin again"
KEYS_RUNNING_BEATS = "Space: end · Backspace: take the last beat back · R: begin again"
AT_THE_SAME_TIME = ("control", "controls, in any order")
CAME_TO = "{control}, {check}: {outcome}"
MORE_PASSED = "{checks} more: pass"
MORE_ENDED = "{checks} more"
KEYS_BEGINS = "Begins by itself · Space: wait · R: do the last one again · G: always wait"
KEYS_DONE = "Space: next · R: do it again · M: mark by hand · S: skip"
KEYS_DONE_PRESS = "Space: next · R: do it again · H: harder, lighter · L: 100 presses · M: mark by hand · S: skip"
KEYS_TO_DO_PRESS = "Space: start · H: harder, lighter · L: 100 presses · M: mark by hand · S: skip"
KEYS_WAITS = "Space: try to store again"
KEYS_TO_DO = "Space: start · M: mark by hand · S: skip"
