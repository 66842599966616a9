"""The shop in figures: what came in, claims, faults, cures, money, and where a unit stands."""

VIEW = "Figures"
VIEW_KEYS = "1–6: another table · Enter: the units behind a row · G: write it (CSV) · Esc: back"
READING_KEYS = "X: stop reading · " + VIEW_KEYS
STOPPED_KEYS = "X: go on reading · " + VIEW_KEYS
WORKING = "Working it out; the first time every unit is read, later only what changed …"
READ_SO_FAR = (
    "Read {done} of {of} units. It goes on beside the bench when you leave; X stops it, and what was read is kept."
)
READ_STOPPED = "Stopped after {done} of {of} units. What was read is kept; X goes on from there."
NOTHING_TO_STOP = "Nothing is being read: the figures are those of now."
EMPTY = "Nothing to show yet: this table fills as units are tested, treated and sold."
NO_UNIT = "Open a unit first (F2, Enter); this table shows where it stands among all of its model."
NO_READINGS = "{tag} has no reading with a limit yet, so nobody can say where it stands."
NOTHING_BEHIND = "No unit is behind this figure."
TITLES = {
    "came": "What came in, and what became of it",
    "claims": "What became of claims, by source",
    "faults": "What fails when units come in, by model",
    "cures": "What cures what",
    "money": "Minutes and profit",
    "standing": "Where {tag} stands among all {model}",
}
SHORT = {
    "came": "What came in",
    "claims": "Claims",
    "faults": "Faults",
    "cures": "Cures",
    "money": "Money",
    "standing": "One unit",
}
TAB = "{number}: {name}"
STANDING_OF_NONE = "Where a unit stands among all of its model"
NOTES = {
    "came": "As it came: by the worst verdict before anything was done to it. Shares with their 95 % intervals, as of "
    "units that are to come from the same places.",
    "claims": "Held against what was tested before the first treatment, unless a person said what it is; shares of "
    "the claims that are judged, with 95 % intervals; of open ones, of all claims.",
    "faults": "Checks that failed before anything was done, out of the units of the model that were tested then, with "
    "95 % intervals; a unit with two faults counts under both.",
    "cures": "First tries that were tested again: what had failed passed then, and the unit did not come back with "
    "it. 95 % intervals as the diagnosis has them (Jeffreys); a treatment against two faults counts under both.",
    "money": "So far: what is still here has cost already and brought nothing yet. Profit with work at the guide's "
    "price of an hour; what an hour brought is without it.",
    "standing": "So many of a hundred units of its model have a smaller value now, those with the same counting half.",
}
DRAWN = {
    "came": "Share of those that came in",
    "claims": "Share of the claims that are judged",
    "faults": "Share of the units that were tested",
    "cures": "Share that was cured",
    "money": "Profit a unit",
    "standing": "Percentile, from the median",
}
HEADS = {
    "came": ("Units", "How many", "Share"),
    "claims": ("Source", "The claim was", "Units", "Share"),
    "faults": ("Model", "Fails", "Units", "Share"),
    "cures": ("Had failed", "Treatment", "Cured", "Share"),
    "money": ("Lot", "Units", "Minutes a unit", "Profit", "A unit", "An hour"),
    "standing": ("Reading", "This unit", "Median of all", "Percentile", "Units"),
    "units": ("Tag", "Model", "Lot", "Becomes", "Minutes", "Profit", "An hour"),
}
CAME = {
    "arrived": "Came in",
    "pass": "· passed as it came",
    "borderline": "· borderline as it came",
    "fail": "· something failed",
    "not done": "· not tested before a treatment",
    "open": "Open",
    "ready": "Ready",
    "donor": "Donor",
    "sell as is": "Sell as is",
    "scrap": "Scrap",
    "sold": "Sold",
    "returned": "Came back, of those sold",
}
NO_SOURCE = "not said"
ALL_SOURCES = "all sources"
ALL_LOTS = "All lots, {currency}"
NO_LOT = "Without a lot, {currency}"
FAULT = "{control}: {check}"
K_OF_N = "{k} of {n}"
SHARE_ALONE = "{share} %"
SHARE = "{share} % ({low}–{high} %)"
NONE = "–"
BEHIND = "{row}: {units}"
UNITS = ("unit", "units")
MORE_UNITS = "The first {shown} of them."
NOTHING_TO_WRITE = "There is no row to write yet."
BEHIND_KEYS = "Enter: open the unit · Esc: back to the table"
READING = "{what}, {reading}"
WRITTEN = "Written: {path}"
NOT_WRITTEN = "The table could not be written to {folder} ({reason}); make room there and press G again."
FILE = "figures-{table}"
CHART = "Picture of the table: {title}"
CHART_ROW = "{row}: {value}"
MORE = "The first {shown} of {all} rows; the file has all of them (G)."
