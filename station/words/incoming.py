"""A lot that comes in: a spreadsheet that is read, what is wrong in it by row, and what a claim is understood as."""

# --- the file ---------------------------------------------------------------------------------------------

FILE_UNREADABLE = "{file} cannot be read ({reason}); check its name and that you may read it."
FILE_TOO_LARGE = "{file} is larger than {most} MB; save the rows of one lot alone."
FILE_EMPTY = "{file} is empty; save the spreadsheet again, then import it."
OLD_FORM = (
    "{file} is a workbook of an old form or has a password; open it in the spreadsheet program and save it as XLSX or "
    "CSV without one."
)
OTHER_FORM = "{file} is no spreadsheet that can be read; save it as XLSX or CSV."
DAMAGED = "{file} is damaged or no whole XLSX file ({reason}); save it again from the spreadsheet program."
UNFOLDS = "{file} unfolds to more than {most} MB, so it is no list of units; save the rows of one lot alone."
TOO_MANY_PARTS = "it has more than {most} parts"
HAS_ENTITIES = "it has parts that a spreadsheet does not have"
TOO_MANY_ROWS = "{file} has more than {most} rows; save the rows of one lot alone."
TOO_MANY_COLUMNS = "{file} has more than {most} columns; save those that say something of a unit alone."
NOT_TEXT = "{file} is no spreadsheet, nor text of an encoding that is known; save it as XLSX, or as CSV in UTF-8."
CELL_TOO_LONG = (
    "{file}, row {row}: a cell has more than {most} letters; shorten it, or look whether a quotation mark is missing."
)
NOT_CSV = (
    "{file}, row {row}: a quotation mark stands where none may; put two of them for one inside a cell, and one at each "
    "end of it."
)

# --- what is told beside it ---------------------------------------------------------------------------------

OLD_ENCODING = "The file is not UTF-8; it was read as Windows-1252. Look at names with accents."
HAS_MACROS = "The file has macros; they were not run."
OTHER_SHEETS = "Taken from the sheet “{sheet}”; others are not read: {others}."
HIDDEN_SHEET = "The sheet “{sheet}” is hidden; no other has cells."
HIDDEN_ROWS = ("{count} hidden row is read too.", "{count} hidden rows are read too.")
ROWS_ABOVE = "Rows above the headings, which stand in row {row}, are not taken: {rows}."
HEADINGS_AGAIN = "Rows that repeat the headings are left out: {rows}."
NO_HEADING = "Cells below no heading are not taken: {cells}."
NOT_TAKEN = "Columns that are not taken: {columns}."
NO_SHEET_OF_MODEL = "No model sheet is called so yet, which does no harm: {models}."
TAGS_GIVEN = ("{count} unit had no tag and gets the next: {first}.", "{count} units had no tag: {first} to {last}.")
BOUND = "Claims that are bound to a control: {bound} of {claims}."
PRICE_SUM = "The prices of its units come to {amount}, which is taken as the price of the lot."
NO_PRICE = ("Without a price, so it bears none of that: {tags}.", "Without a price, so they bear none of that: {tags}.")

# --- headings -------------------------------------------------------------------------------------------------

FIELDS = {
    "tag": "Tag",
    "model": "Model",
    "claim": "Claim",
    "serial": "Serial number",
    "condition": "Condition",
    "accessories": "Accessories",
    "box": "Box",
    "price": "Price",
    "count": "How many",
}
"""what a column is taken as"""
HEADINGS = {
    "tag": ("tag", "label", "shelf label", "unit", "id", "no", "nr", "number", "sku", "item no", "item number"),
    "model": ("model", "type", "product", "item", "device", "name", "article", "title"),
    "claim": (
        "claim", "fault", "faults", "defect", "defects", "problem", "issue", "issues", "error", "symptom",
        "seller says", "complaint", "what is wrong", "reported fault",
    ),
    "serial": ("serial", "serial number", "serial no", "s n", "sn"),
    "condition": ("condition", "condition of the case", "case", "cosmetic", "cosmetics", "optical condition", "state"),
    "accessories": ("accessories", "accessory", "extras", "with", "comes with", "included", "cable"),
    "box": ("box", "boxed", "packaging", "original box"),
    "price": ("price", "cost", "paid", "unit price", "price each", "unit cost", "amount"),
    "count": ("how many", "qty", "quantity", "count", "pieces", "pcs"),
}  # fmt: skip
"""headings of columns, small letters without signs; a heading that holds one of them as whole words counts too"""
HEADINGS_FOR_WANT_OF_BETTER = {"model": ("controller", "controllers", "gamepad", "game controller", "pad")}
"""taken where no other heading is the very word for that field"""
NO_HEADINGS = (
    "No row of {file} reads like headings; name the columns in one row, such as Tag, Model, Claim, and put the units "
    "below."
)
TWO_COLUMNS = "Two columns read like “{field}”: {first} and {second}; give one of them another heading."
MERGED_HEADING = "The heading “{heading}” spans the columns {first} to {last}; split the cell and name each column."
OTHER_CURRENCY_HEADING = (
    "The heading “{heading}” is of prices in {found} and the lot is in {currency}; write them in {currency}, or write "
    "up a lot in {found} (L) and import into that."
)
NO_UNIT = "There is no row below the headings; put one row for each unit."

# --- a row ------------------------------------------------------------------------------------------------------

ROW = "Row {row}: {what}"
MERGED_CELL = "“{field}” is one cell over the rows {first} to {last}; split it and write what holds in each row."
FORMULA = "“{field}” is a formula whose result is not in the file; write the value there, or save it once more."
ERROR_CELL = "“{field}” shows the error {error}; mend the cell."
ROUNDED = "“{field}” was made a rounded number ({text}); format the column as text and write it again."
TAG_TWICE = "the tag {tag} is in row {other} too; give each unit its own."
TAG_HERE = "the tag {tag} is on a unit that is here; give this one another."
MANY = "it stands for {count} units; write a row for each."
NO_COUNT = "“{text}” does not say how many; write a row for each unit."
NO_BOX = "“{text}” does not say whether there is a box; write yes or no, or leave it empty."
YES = ("yes", "y", "x", "1", "true", "box", "boxed", "with box", "original box", "✓", "✔")
NO = ("no", "n", "0", "false", "no box", "without", "without box", "none", "-", "–")
MADE_DATE = "“{field}” was made a date or a time ({text}); format the column as text and write it again."
TOTAL = "“{text}” looks like the sum of the rows above; take the row away."
TOTALS = ("total", "totals", "subtotal", "subtotals", "sum", "sums", "grand", "altogether")
"""with such a word begins a row that sums others"""
CELLS_TOO_MANY = (
    "it has more cells than there are headings (“{text}” is below none); where a cell holds the sign that parts them, "
    "put it in quotation marks."
)
NEITHER_MODEL = "it has neither a tag nor a model nor a claim; fill it in, or take the row away."
MORE_ROWS = ("{count} more row has something wrong.", "{count} more rows have something wrong.")

# --- an amount ----------------------------------------------------------------------------------------------------

NO_AMOUNT = "“{text}” is no amount; write it like {example}."
TWO_SEPARATORS = "“{text}” has more than one decimal sign; write it like {example}."
AMBIGUOUS = "“{text}” can be read as {one} or as {other}; write the cents too, like {example}."
TOO_FINE = "“{text}” has more than {places} decimal places; round it."
NEGATIVE = "“{text}” is below nought; a price cannot be."
TOO_MUCH = "“{text}” is more than {most}; look at the decimal sign."
OTHER_CURRENCY = "“{text}” is in {found} and the lot in {currency}; write it in {currency}."

# --- the window and the command ---------------------------------------------------------------------------------

IMPORT = "A lot comes in"
IMPORT_KEYS = "↓: the newest file · Tab: next line · Enter: look at it · Esc: back"
FILE = "Spreadsheet (XLSX, CSV)"
FILE_NEWEST = "Down: the newest, {file}"
FILE_PATH = "path of a spreadsheet"
INTO_LOT = "Into the lot"
NEEDS_FILE = "Choose a spreadsheet: Down takes the newest one of the folder."
NEEDS_LOT = "Name the lot, such as SM-08."
LOOKING = "Looking through {file} …"
PREVIEW = "{lot}: {units} would come in"
PREVIEW_TO = "{lot}, which is here: {units} would come in"
PREVIEW_WRONG = "{lot}: nothing comes in yet"
PREVIEW_KEYS = "Enter: take them in · Tab: next line · ↑ ↓: scroll · Esc: back, nothing is kept"
PREVIEW_WRONG_KEYS = "↑ ↓: scroll · Enter or Esc: back, nothing is kept"
COLUMNS_TAKEN = "Columns: {columns}"
COLUMN_AS = "{heading} → {field}"
WRONG_ROWS = (
    "{count} row has something wrong. Mend it in the spreadsheet and save it, then import again: all or none come in.",
    "{count} rows have something wrong. Mend them in the spreadsheet and save it, then import again: all or none come "
    "in.",
)
MORE_UNITS = ("and {count} more unit", "and {count} more units")
POSTAGE = "Postage, {currency}"
PRICE_OF_LOT = "Price of the lot, {currency}"
TAKEN_IN = "{units} came into {lot}"
COMES_IN = "Would come into {lot}: {units}."
NOTHING_CAME = "Nothing came in."
DRY = "Nothing was kept: this was a trial (--dry-run)."
CAME_IN = "{units} came into {lot}. In the window Z on the lot takes that back."

# --- quick entry ------------------------------------------------------------------------------------------------

QUICK = "New units"
QUICK_IN_LOT = "New units for {lot}"
QUICK_KEYS = "↓: a model · Tab: next line · Enter: save it, the next · Esc: done"
QUICK_OF = "In so far: {here} of {expected}."
QUICK_HERE = "In so far: {here}."
QUICK_ALL = "All {expected} are in."
SHORT_CLAIM = "ls dr"
CLAIM_HINT = "what the seller said; short is enough: “{short}” is {example}"
NO_CLAIM_YET = "A unit of which nobody said anything has no claim."
UNDERSTOOD = "→ {claim}."
BOUND_TO = "Bound to: {controls}."
NOT_BOUND = "Bound to no control: name it (left stick, ls) if it is about one."
ACCESSORIES = "Came with it"
ACCESSORIES_HINT = "cable, dongle"
BOX = "Box"
BOXES = {"": "not said", "box": "box", "no box": "no box"}

# --- withdrawing what came in --------------------------------------------------------------------------------------

WITHDRAW_LOT = "Withdraw what came into {lot}"
ARRIVAL = "{when}: {units}, {first} to {last}"
ARRIVAL_WORKED_ON = "{arrival} (more is recorded of {count})"
WHOLE_LOT = "the lot itself, which is empty"
NO_LOT_TO_WITHDRAW = "Put the cursor on the lot of which something should not be there."
