"""Sound to listen to: what the rider heard, and tones beside the recording."""
