"""Recordings measured again: what does not fit them, and what came of them, in a few lines for a person."""

NO_DESCRIPTOR = "The device gave no report descriptor"
NO_INPUTS = "Its report descriptor names no inputs"
CHECK_UNKNOWN = 'Its marks name a check "{check}" that is not known here; update the program.'
CHECK_MISPLACED = 'Its marks name the check "{check}" for {control}, which has none; correct its meta.'
THE_WHOLE_UNIT = "the whole unit"
CONTROL_UNKNOWN = (
    'Its marks name a control "{control}" that the sheet "{sheet}" does not have; '
    "give the sheet it was recorded with (--sheet)."
)
NO_SHEET_FITS = "{why}, and no sheet fits this device; give one with explicit fields (--sheet)."

CAPTURE = "{file}: {outcome} ({counts})"
NO_CHECK = "its marks bracket no check"
COUNT = "{count} {outcome}"
CHECK = "  {title}: {outcome}"
CHECK_AGAIN = "  {title}: {outcome} ({again})"
DETAIL = "    {text}"
