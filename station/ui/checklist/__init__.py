"""The Checklist pane."""
