"""Several files dropped at once: which are recordings, and which set-up belongs to which.

A set-up that bears the name of a recording (``lane-1.setup.json`` for ``lane-1.mp4``) is that
run's own; the first of the others serves all runs that have none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from wayside.errors import WaysideError
from wayside.hand.setup import Setup
from wayside.session.document import is_session_file

_ENDINGS = (".setup.json", ".json")


@dataclass(frozen=True)
class Dropped:
    """What is to be done with the files.

    Parameters
    ----------
    session : Path or None
        A session to be opened instead of everything else.
    recordings : tuple of Path
    setups : mapping of Path to Setup
        By recording.
    faults : tuple of str
        One sentence for each set-up that cannot be used.
    """

    session: Path | None
    recordings: tuple[Path, ...]
    setups: dict[Path, Setup]
    faults: tuple[str, ...]


def take_dropped(paths: Sequence[Path], read_setup: Callable[[Path], Setup]) -> Dropped:
    """Sort files into recordings, in the order given, and their set-ups."""
    recordings = tuple(p for p in paths if p.suffix.lower() != ".json")
    documents = [p for p in paths if p.suffix.lower() == ".json"]
    session = next((p for p in documents if is_session_file(p)), None)
    if session is not None or not recordings:
        return Dropped(session, recordings, {}, ())
    faults: list[str] = []
    by_name: dict[str, Setup] = {}
    common: Setup | None = None
    stems = {p.stem.casefold() for p in recordings}
    for path in documents:
        try:
            setup = read_setup(path)
        except WaysideError as error:
            faults.append(str(error))
            continue
        name = _name_of(path).casefold()
        if name in stems:
            by_name[name] = setup
        elif common is None:
            common = setup
    setups = {}
    for path in recordings:
        found = by_name.get(path.stem.casefold(), common)
        if found is not None:
            setups[path] = found
    return Dropped(None, recordings, setups, tuple(faults))


def _name_of(path: Path) -> str:
    for ending in _ENDINGS:
        if path.name.lower().endswith(ending):
            return path.name[: -len(ending)]
    return path.stem
