"""Recordings and films of pass-bys rendered from physics, with their truth."""
