"""Words that several screens share: what is shown for the words that stand in records and sheets as data."""

OUTCOMES = {
    "pass": "pass",
    "borderline": "borderline",
    "fail": "fail",
    "interrupted": "interrupted",
    "not done": "not done",
}
SHAPES = {
    "running": "running",
    "skipped": "skipped",
    "caution": "caution",
    "note": "note",
    "better": "better",
    "worse": "worse",
}
"""what the shapes say that stand for no outcome"""
VISIT_KINDS = {
    "first look": "first look",
    "intake": "intake",
    "after treatment": "after treatment",
    "after rest": "after rest",
    "final": "final",
}
CLAIM_STATES = {
    "open": "open",
    "confirmed": "confirmed",
    "not found": "not found",
    "something else": "something else",
}
BECOMES = {
    "open": "open",
    "ready": "ready",
    "donor": "donor",
    "sell as is": "sell as is",
    "scrap": "scrap",
    "sold": "sold",
}
TREATMENT_KINDS = {
    "clean from outside": "clean from outside",
    "open and clean": "open and clean",
    "clean the sensor": "clean the sensor",
    "contact cleaner": "contact cleaner",
    "replace sensor": "replace sensor",
    "replace module": "replace module",
    "replace contact pad": "replace contact pad",
    "replace membrane or flex": "replace membrane or flex",
    "replace spring": "replace spring",
    "replace cap or paddle": "replace cap or paddle",
    "replace board": "replace board",
    "replace battery": "replace battery",
    "replace cable": "replace cable",
    "replace motor": "replace motor",
    "replace housing": "replace housing",
    "resolder": "resolder",
    "re-seat connector": "re-seat connector",
    "swap with donor part": "swap with donor part",
    "adjust": "adjust",
    "calibrate": "calibrate",
    "other": "other",
}
ZONES = {
    "top": "top",
    "left hand": "left hand",
    "right hand": "right hand",
    "centre": "centre",
    "back": "back",
}
WHOLE_UNIT = "whole unit"
AXES = {"x": "horizontal", "y": "vertical"}
UNITS = ("unit", "units")
DOT = " · "
"""between short things on one line of the screen"""
TEST_AGAIN = "Test it again"
"""the next step after a treatment"""
