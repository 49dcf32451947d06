"""Film: true frame times, exact frames, crossings of marker lines, the clock shared with sound."""
