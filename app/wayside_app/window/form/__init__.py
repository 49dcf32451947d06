"""Area 1: what was measured by hand."""
