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
