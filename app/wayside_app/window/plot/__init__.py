"""Area 2: what the sound says."""
