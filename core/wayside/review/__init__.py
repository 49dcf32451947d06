"""Many runs at once: one row a run, what they say together, and runs set beside each other."""
