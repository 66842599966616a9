"""Questions over the window that the keyboard alone can answer."""
