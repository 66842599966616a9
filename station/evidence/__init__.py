"""Recordings read again: which sheet fits one, what its checks come to, and how that is written down."""
