"""Every edit as an undo command that carries the state before and after it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

from wayside.session.session import Session

if TYPE_CHECKING:
    from wayside_app.window.bench import Bench
    from wayside_app.window.heard import Heard


class EditSession(QUndoCommand):
    """Replace the session's value; keystrokes of one visit to a field are one step.

    Parameters
    ----------
    topic : str
        Neighbouring edits of the same topic merge; empty never merges.
    held : sequence of Heard
        Recordings to keep at hand, so that undo brings them back at once.
    """

    def __init__(
        self,
        bench: Bench,
        name: str,
        new: Session,
        topic: str = "",
        held: Sequence[Heard] = (),
    ) -> None:
        super().__init__(name)
        self._held = tuple(held)
        self._bench = bench
        self._old = bench.session
        self._new = new
        self._topic = topic

    def redo(self) -> None:
        self._bench.put_session(self._new)

    def undo(self) -> None:
        self._bench.put_session(self._old)

    def id(self) -> int:
        return 1 if self._topic else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        if not isinstance(other, EditSession) or other._topic != self._topic:
            return False
        self._new = other._new
        return True
