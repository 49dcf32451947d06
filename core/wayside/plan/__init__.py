"""Planning a demonstration that will work: what to expect, and where to put everything."""
