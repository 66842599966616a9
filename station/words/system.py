"""What is put into the system, so that it knows the program: `restpoint setup-system`, completion, the manual page."""

SETUP_SYSTEM = "let this machine know Restpoint: rights to controllers, menu entry, manual page, completion"
SETUP_SYSTEM_REMOVE = "take all of it away again"
SETUP_SYSTEM_YES = "do not ask"
COMPLETION = "print the completion of this command for a shell"
ONLY_LINUX = (
    "Only Linux needs this; on Windows and macOS controllers can be opened without it. "
    "Start the program with: restpoint"
)
WILL_WRITE = "These files will be written:"
WILL_REMOVE = "These files will be taken away:"
FILE_LINE = "  {path}: {what}"
AS_ROOT = "  {path}: {what} (as administrator; sudo asks for your password)"
WHAT = {
    "rule": "the person at this machine may open game controllers",
    "entry": "Restpoint in the menu of programs",
    "icon": "its icon",
    "about": "what software centres show of it",
    "manual": "the manual page (man restpoint)",
    "bash": "completion for bash",
    "zsh": "completion for zsh",
}
ASK = "Go on? [y/N] "
YES = ("y", "yes")
NOTHING_DONE = "Nothing was changed."
NOTHING_THERE = "Nothing of it is there; nothing was changed."
WRITTEN = "Done. Plug controllers in again, so that the new right holds for them."
REMOVED = "Done. Your records were left where they are: {folder}"
RULE_REFUSED = (
    "The rule {path} was not put in place, since sudo did not allow it; the rest is done. "
    "Ask whoever runs this machine to run: {command}"
)
RULE_STAYS = (
    "The rule {path} is still there, since sudo did not allow taking it away; the rest is done. "
    "Ask whoever runs this machine to run: {command}"
)
NO_SUDO = (
    "The rule {path} needs an administrator, and there is no sudo here; the rest is done. "
    "As administrator, run: {command}"
)
RULE_FAILED = (
    "The rule {path} could not be changed, for the reason above; the rest is done. Mend that, then run: {command}"
)
NOT_ASKED = "Nothing was changed, since nobody was there to say yes; run it in a terminal, or with --yes."

ENTRY_COMMENT = "Check, repair and certify used game controllers"
ENTRY_GENERIC = "Bench station"
ENTRY_KEYWORDS = ("gamepad", "joystick", "repair", "HID", "test")
ABOUT_SUMMARY = "Bench station for refurbishing game controllers"
ABOUT_TEXT = (
    "Plug a used controller in, and Restpoint leads your hands through a full input check: every control, each "
    "button pressed lightly to catch weak contacts, sticks at rest, let go, at full travel, round the rim and on a "
    "slow sweep.",
    "It says in words what is wrong and where, proposes the cheapest treatment that is worth trying, compares "
    "before and after, asks for a second test after some days of rest, keeps the record of the whole lot, and "
    "writes a certificate for the buyer.",
)
