"""The sheet with the uncertainties: what makes them, and whether sampling agrees."""
