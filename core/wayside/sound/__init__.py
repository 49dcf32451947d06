"""Recordings: decoding files into samples on the film's clock."""
