"""Listening: a player behind a small interface, and the bar that works it."""
