"""One session: a recording, the hand measurements as typed, and the reading windows."""
