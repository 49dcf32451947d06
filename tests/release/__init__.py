"""Checks before a release, by hand: a fresh installation, and the window on a real screen."""
