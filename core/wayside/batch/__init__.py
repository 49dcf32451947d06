"""A whole folder of recordings measured in parallel, resumable, with one row a recording."""
