"""The sheet for planning a demonstration: what to expect, and where to put everything."""
