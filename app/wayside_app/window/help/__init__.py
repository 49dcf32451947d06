"""Help for each area: the pages that F1 shows, as they also stand in docs/help."""
