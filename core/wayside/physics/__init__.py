"""Kinematics of a pass-by and the speed of sound in air."""
