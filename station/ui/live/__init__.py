"""The Live pane."""
