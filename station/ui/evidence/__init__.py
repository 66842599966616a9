"""The evidence room: the reports behind a result, drawn by a plot library that is loaded when it is first opened."""
