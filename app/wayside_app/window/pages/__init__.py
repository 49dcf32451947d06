"""Sheets that lie behind the recording: one at a time, the form beside them stays in use."""
