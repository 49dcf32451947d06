"""The film: its frames, marker lines on them, and one time axis for picture and sound."""
