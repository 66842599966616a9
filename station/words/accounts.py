"""Money as tables: the units, the months, every amount."""

UNITS, LOTS, MONTHS, ACCOUNTS = "Units", "Lots", "Months", "Accounts"
"""names of the sheets"""
UNIT_HEADS = (
    "Tag", "Model", "Lot", "Source", "Becomes", "Bought on", "Sold on", "Channel", "Currency", "Price share",
    "Postage share", "Parts and materials", "Minutes", "Work", "Sales", "Fees", "Shipping", "Refunds",
    "Cost of returns", "Profit", "Profit an hour", "Not added",
)  # fmt: skip
MONTH_HEADS = ("Month", "Currency")
ACCOUNT_HEADS = ("Month", "Day", "What", "Amount", "Currency", "Minutes", "Lot", "Unit", "Source", "Note")
KINDS = {
    "price": "Price",
    "postage": "Postage",
    "parts": "Parts and materials",
    "labour": "Work",
    "sale": "Sales",
    "fees": "Fees",
    "shipping": "Shipping",
    "refund": "Refunds",
    "return": "Cost of returns",
}
SUM = "Sum, {currency}"
PROFIT = "Profit"
NO_MONTH = "no day"
TO_COME = "still to come"
NOTHING = "There is nothing yet to write: no unit is in the records."
OTHER_ENDING = "{file} ends neither in .xlsx nor in .csv; write the accounts into a file that does."
WRITTEN = "Written to {path}: {units}, {entries}."
ENTRIES = ("amount", "amounts")
NOT_WRITTEN = "{path} cannot be written ({reason}); make room, or write it elsewhere."

# --- the panel ----------------------------------------------------------------------------------------------

MONEY = "Money of {lot}, {currency}"
MONEY_KEYS = "↑ ↓: units · Tab: next line · Enter: write the table · Esc: back"
MONEY_HEADS = ("Unit", "Costs", "Work", "Brought", "Profit", "An hour")
SUM_OF_LOT = "Sum"
NOT_IN_YET = "Units still to come"
WRITE_TO = "Write the table of all lots to (.xlsx, or .csv for the units alone)"
NEEDS_PATH = "Say where to write the table, such as accounts.xlsx."
NO_LOT = "Put the cursor on a lot first."
FILE = "accounts.xlsx"
OTHERS = "Not added, in another currency: {currencies}."
