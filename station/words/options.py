"""What a shop can set: `restpoint set` and the panel of settings in the window."""

GROUPS = {
    "shop": "Shop",
    "money": "Money",
    "grades": "Grades, limits and faults",
    "rest": "Rest",
    "window": "Sound and look",
    "keys": "Keys",
}
NAMES = {
    "shop": "the shop, as buyers know it",
    "contact": "how it is reached",
    "person": "who sits at the bench",
    "page": "where buyers find the page that checks certificates",
    "mark": "its mark, a picture on certificates",
    "costs": "minutes and costs on certificates",
    "paper": "paper of certificates and labels",
    "currency": "currency of the prices below",
    "hour": "what an hour at the bench costs",
    "price.ready": "a unit brings, tested and rested",
    "price.as-is": "a unit brings, sold with its faults named",
    "price.parts": "a unit brings, for its parts",
    "by-itself": "the next check begins by itself",
    "alone": "each unit is left alone before its second test",
    "sound": "sound",
    "theme": "look",
    "text-size": "size of text",
}
FILES = {
    "limits.toml": "limits of your own, and grades of your own",
    "fault_guide.toml": "fault guide of your own: parts, treatments, cautions",
    "keys.toml": "keys of your own, such as those of a foot switch",
    "labels.toml": "sizes of labels of your own",
    "listing.txt": "text of your offers",
}
COUNTS = {
    "now": "",
    "certificate": "from the next certificate on",
    "offer": "from the next offer on",
    "visit": "from the next visit on",
    "treatment": "from the next treatment on",
    "read": "as soon as it is saved",
    "keys": "when the page of all keys is opened (?)",
    "start": "when the program is started again",
}
"""from when on a change counts"""
UNSET = {
    "person": "as you are called at this computer",
    "paper": "as is usual in this country",
    "text-size": "as the desktop has it",
    "mark": "none",
    "page": "none",
}
"""what counts while nothing is set"""
HINTS = {
    "contact": "site, e-mail or telephone",
    "page": "https://mill-lane.example/check.html",
}
VALUES = {
    "on": "on",
    "off": "off",
    "auto": "as the desktop has it",
    "light": "light",
    "dark": "dark",
    "Letter": "Letter",
}
"""choices in words; others are written as they are typed"""
DAYS = ("day", "days")
READY_OF_GRADE = "one brings that is called {grade}; else as any ready one"
REST_AFTER = "after: {kind}"
LINE = "{name}  {value}  ({meaning})"
AS_SHIPPED = "{value}, as shipped"
NOT_SET = "not set"
SHOWN = "{name}: {value}"
COUNT_IN_IT = "The amounts of {units} in no lot count in it too; put them into a lot first where that is wrong."
CHANGED_TOO = "{changed}; amounts of {units} in no lot count in it too"
NO_SUCH = "There is no setting called “{name}”; restpoint set lists them all."
ONE_OF = "“{value}” is none of {choices}; say one of them."
NO_CURRENCY = "“{value}” is no currency; type its three letters, for instance EUR."
NO_AMOUNT = "“{value}” is no amount of {currency}; type it like {example}."
NO_DAYS = "“{value}” is no number of days; type a whole number from 0 to {most}."
TOO_LONG = "This is longer than {most} letters, which is more than a certificate has room for; shorten it."
NO_SIGNS = "This holds signs that cannot be seen; type it anew."
NEEDS_NAME = "A certificate needs the name of a shop; type it."
NO_PICTURE = "{path} is no picture that can be shown; name another one, or leave it empty."
NO_ADDRESS = (
    "The page's address begins with https:// and has no blank and no # in it; type it as the browser shows it, or "
    "leave it empty."
)
NO_VALUE = "This is no value that this version can use, so what ships counts; set it anew, or put back what ships."
NOT_USED = "{value} (not used: {problem})"

# --- files of the shop -----------------------------------------------------------------------------------

FILE_THERE = "your own"
FILE_NONE = "none yet"
FILE_NOT_THERE = "{file}, none yet"
FILE_HEAD = {
    "limits.toml": "# The shop's own limits and grades. What ships stands below, switched off by “#”: take the # away "
    "from the\n# lines that you change, and from the [section] above them. What is not here stays as it ships.\n"
    "# Grades: if you take one in, take all in that you want.\n",
    "labels.toml": "# The shop's own sizes of labels. What ships stands below, switched off by “#”: take the # away "
    "from a whole\n# [[label]] and change it.\n",
}
FILE_KEYS = """# Keys of the shop's own: what a key does, by the key that does it as the program ships (? shows them).
# The lines below are examples, switched off by “#”.
#
# [bench]
# Insert = "Space"   # a foot switch that sends Insert
# K = "M"            # K marks by hand too
"""
FILE_NOT_MADE = "{file} could not be written ({reason}); make room or allow writing there, then try again."
FILE_NOT_ASIDE = "{file} could not be set aside ({reason}); allow writing there, then try again."
FILE_BACK = "{file} is there again, so the one that was set aside stays where it is: {aside}."
FILE_MADE = "{file} made"
FILE_ASIDE = "{file} set aside"
FILE_OPENED = "{path} is opened by your system's program for it."
FILE_OPEN_BY_HAND = "Nothing on this system opens it; open {path} with an editor."
FILE_HAS_NONE = "There is no file of your own; what ships counts already."

# --- the panel ---------------------------------------------------------------------------------------------

PANEL = "Settings"
PANEL_KEYS = "Up, Down: move · Tab: next group · Delete: as it ships · Enter: change · Esc: back"
PANEL_FILE_KEYS = "Up, Down: move · Tab: next group · Delete: set it aside · Enter: open it · Esc: back"
PANEL_EDIT_KEYS = "Enter: save · Esc: leave it as it was"
PANEL_UNDO = "{said} Ctrl+Z takes it back."
AS_IT_SHIPS = "as it ships"
YOURS = "yours; ships as {value}"
YOURS_ALONE = "yours"
ROW = "{title}: {value}, {state}"
CHANGED = "{title}, now {value}"
CHANGED_MEANWHILE = (
    "“{title}” was changed elsewhere meanwhile, to {value}; Enter again puts yours in its place, Esc leaves it."
)
CHANGED_SINCE = "“{title}” was changed again since; set it anew if it should be otherwise."
IS_AS_SHIPPED = "This is as it ships."
NOTHING_TO_TAKE_BACK = "Nothing was changed in the last seconds; Delete puts back what ships."
FIRST = "Who issues the certificates?"
FIRST_KEYS = "Tab: next line · Enter: keep it and go on · Esc: back"
WELCOME = "Welcome. Who works here?"
WELCOME_KEYS = "Tab: next line · Enter: keep it · Esc: later"
WELCOME_MORE = (
    "Certificates will bear both. It can wait: plug in a unit, or press Esc. All else has a value that works; F11 "
    "shows and changes it."
)
FIRST_MORE = "All else has a value that works; F11 shows and changes it."
