"""The Record pane."""
