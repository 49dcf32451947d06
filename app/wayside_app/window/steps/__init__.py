"""The sheet with the worked solution: every step as on the board."""
