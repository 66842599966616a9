"""The Lots view."""
