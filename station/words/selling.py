"""A sale and what comes back of it."""

# --- the sale ---------------------------------------------------------------------------------------------

SOLD_ON = "Sold on"
CHANNEL = "Channel"
CHANNEL_HINT = "where it was sold; ↓: where units were sold before"
FEES = "Fees of channel and payment, {currency}"
SHIPPING = "Shipping paid, {currency}"

# --- a return ---------------------------------------------------------------------------------------------

CAME_BACK = "{tag} came back"
CAME_BACK_KEYS = "Tab: next line · arrows: choose · Enter: save · Esc: back"
CAME_BACK_ON = "Came back on"
CAME_BACK_WHY = "Why, as the buyer says"
CAME_BACK_WHY_HINT = "left stick drifts again"
FOUND_NOW = "What was found"
FOUND = {
    "not looked at": "not looked at yet",
    "same fault": "the same fault",
    "another fault": "another fault",
    "nothing found": "nothing",
    "damaged on the way": "damaged on the way",
}
REFUND = "Refunded, {currency}"
RETURN_COST = "Cost of its way back, {currency}"
WHICH_CURE = "Which treatment did not hold"
NO_CURE = "none of them"
ITS_CERTIFICATE = "Its certificate"
CERTIFICATE_STAYS = "stays as it is"
CERTIFICATE_WITHDRAWN = "is withdrawn"
LOOK_AGAIN = "{tag}: what was found of it?"
NOT_SOLD = "{tag} is not sold, and every return of it is looked at; B says what becomes of it."
REFUND_TOO_MUCH = "It was sold for {price}; write at most that."
NEEDS_REASON = "Say why it came back: one line is enough."

# --- in the record ----------------------------------------------------------------------------------------

COMEBACK = "came back: {reason} ({found})"
COMEBACK_SALE = "came back: {reason} ({found}), refunded {refund} of {price}"
SALE_FACT = "Sold"
SALE = "{price} on {day}"
SALE_BY = "{price} on {day}, {channel}"
SALE_UNDATED = "{price}"
SAVED = "{tag} came back"
SAVED_LOOK = "{tag}: {found}"
BACK_BEFORE_SALE = "It was sold on {day}, so it cannot have come back before; look at the day."
REST_LONGER = (
    "{back} of {sold} units that were sold after “{kind}” came back with the same fault, after {days} days; a rest of "
    "{longer} days would show more of them (restpoint set rest_days, or the settings)."
)
