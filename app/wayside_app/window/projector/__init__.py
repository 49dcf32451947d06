"""The view for a class: one sentence, one picture, four numbers."""
