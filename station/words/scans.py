"""What is said of a tag that a scanner typed."""

LESSON_FIRST = "{tag} was scanned; a lesson is under way: end it (Esc), then scan it again."
PANEL_FIRST = "{tag} was scanned and nothing was done with it: Enter or Esc here first, then scan it again."
CHECK_FIRST = "No unit has the tag {tag} yet. End the check (Space), then scan it again to take it in."
WITHOUT_ENTER = "“{tag}” came faster than a hand types, without an Enter; nothing was done. Let the scanner send Enter."
CHECK_GOES_ON = "{tag} is shown; the check of {on_bench} goes on. Esc: back to it."
IS_ON_BENCH = "{tag} is the unit on the bench."
TAG_OPEN = "{tag} is open."
