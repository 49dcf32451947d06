"""Several runs: what was measured in each, the sheet that lists them, the screen that compares."""
