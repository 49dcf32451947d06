"""The session as a document: file, autosave, recovery."""
