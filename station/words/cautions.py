"""What can hurt, as panels say it; the hazards themselves stand in the fault guide, where a shop can add its own."""

SIGN = " · "
"""between the signs of hazards on one line"""
READ = "{signs}   Q: read"
LESS = "{signs}   Q: less"
BEFORE = "{sign}, before: {text}"
DURING = "Meanwhile: {text}"
DEFERS = "By whom and whether at all is a matter of your local rules and of licensed practice."
TITLE = "What can hurt: {what}"
STEPS = {
    "harvest": "taking parts out of a donor",
    "look": "looking it over",
    "charge": "charging",
    "alone": "leaving a unit alone",
}
KEYS = "Esc: back"
NOTHING_AT_HAND = "Nothing at hand that can hurt is known of; your local rules hold."
"""what Q says where no treatment is proposed and nothing is asked"""
