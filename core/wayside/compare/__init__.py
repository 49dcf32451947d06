"""Prediction against measurement: agreement, and what would explain a difference."""
