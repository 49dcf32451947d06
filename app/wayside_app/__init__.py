"""Command line and window of Wayside."""
