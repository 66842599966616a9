"""The shop in figures: tables with a picture of each, and the units behind every row."""
