"""The shop in figures: what all units came to, out of a few facts about each."""
