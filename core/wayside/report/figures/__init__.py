"""Figures as SVG: vector lines and words, with the spectrogram as a picture inside."""
