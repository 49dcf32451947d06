"""The sheet on what would explain a difference between hand and sound."""
