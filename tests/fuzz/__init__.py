"""Damaged and hostile files: each must end as a result or as one sentence; see DEVELOPERS.md."""
