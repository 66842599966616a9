"""What a shop can set: `restpoint set` and the panel of settings."""

GROUPS = {
    "shop": "Who issues the certificates",
    "money": "Money",
    "rest": "Days of rest after a treatment",
    "bench": "At the bench",
    "window": "The window",
}
NAMES = {
    "shop": "the shop, as buyers know it",
    "contact": "how it is reached",
    "person": "who sits at the bench",
    "costs": "minutes and costs on certificates",
    "currency": "currency of the prices below",
    "hour": "what an hour at the bench costs",
    "price.ready": "a unit brings, tested and rested",
    "price.as-is": "a unit brings, sold with its faults named",
    "price.parts": "a unit brings, for its parts",
    "by-itself": "the next check begins by itself",
    "alone": "left alone before the second test",
    "sound": "sound",
    "theme": "look",
    "text-size": "size of text",
}
READY_OF_GRADE = "one brings that is called {grade}; else as any ready one"
REST_AFTER = "after: {kind}"
LINE = "{name}  {value}  ({meaning})"
AS_SHIPPED = "{value}, as shipped"
NOT_SET = "not set"
SHOWN = "{name}: {value}"
NO_SUCH = "There is no setting called “{name}”; restpoint set lists them all."
ONE_OF = "“{value}” is none of {choices}; say one of them."
NO_CURRENCY = "“{value}” is no currency; type its three letters, for instance EUR."
NO_AMOUNT = "“{value}” is no amount of {currency}; type it like {example}."
NO_DAYS = "“{value}” is no number of days; type a whole number from 0 to {most}."
TOO_LONG = "This is longer than {most} letters, which is more than a certificate has room for; shorten it."
NO_SIGNS = "This holds signs that cannot be seen; type it anew."
