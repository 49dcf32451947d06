"""What a person does to the list of runs, each as one undo step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QCoreApplication

from wayside.hand.setup import Setup
from wayside.review.summary import direction_of
from wayside.session.hand_form import fill_form
from wayside.session.run import MediaRef, Run
from wayside_app.window.bench import Bench


def open_recordings(
    bench: Bench, paths: Sequence[Path], setups: Mapping[Path, Setup] | None = None
) -> None:
    """Make a run of each of several recordings, with the set-up of the run that is shown.

    Parameters
    ----------
    bench : Bench
    paths : sequence of Path
    setups : mapping of Path to Setup, optional
        Set-ups of their own, by recording.
    """
    given = setups or {}
    session, start = bench.session, bench.session.run
    runs = []
    for path in paths:
        # a name that ends in a way says which way the source went
        way = direction_of(path.stem)[0] or start.direction
        run = replace(start.next(0), media=MediaRef(str(path.resolve())), direction=way)
        runs.append(run.with_hand(fill_form(given[path]).run) if path in given else run)
    if start.media is None:
        # the run that waits for its recording gets the first, with all that was typed for it
        first = replace(start.with_media(runs[0].media), direction=runs[0].direction)
        if paths[0] in given:
            first = first.with_hand(runs[0])
        new = session.with_run(first).with_new(*runs[1:], show=False)
    else:
        new = session.with_new(*runs)
    bench.edit(_tr("add {count} runs").format(count=len(runs)), new)
    bench.recording_opened.emit()


def add_run(bench: Bench) -> None:
    """Add the next run, with the set-up of the one that is shown, and show it."""
    session = bench.session
    bench.edit(_tr("add a run"), session.with_new(session.run.next(0)))


def copy_set_up(bench: Bench, keys: frozenset[int]) -> None:
    """Give other runs the set-up of the one that is shown.

    What each of them read for itself (crossings, pitches by ear) stays.
    """
    session = bench.session
    hand = session.run.next(0)
    runs = [run.with_set_up(hand) for run in session.runs if run.key in keys - {session.run.key}]
    edit_runs(bench, _tr("copy the set-up to {count} runs").format(count=len(runs)), runs)


def remove_runs(bench: Bench, keys: frozenset[int]) -> None:
    """Remove runs from the session."""
    name = (
        _tr("remove {count} runs").format(count=len(keys)) if len(keys) > 1 else _tr("remove a run")
    )
    bench.edit(name, bench.session.without(keys))


def edit_runs(bench: Bench, name: str, runs: Sequence[Run], topic: str = "") -> None:
    """Take changed runs in the place of those of the same keys."""
    session = bench.session
    for run in runs:
        session = session.with_run(run)
    if session != bench.session:
        bench.edit(name, session, topic)


def show_run(bench: Bench, at: int) -> None:
    """Show another run; that is no edit, and an undone edit shows its own run again."""
    session = bench.session
    if at != session.shown and 0 <= at < len(session.runs):
        bench.end_typing()
        bench.put_session(session.showing(at))


def step_run(bench: Bench, by: int) -> None:
    """Show the next run, or the one before; from the last on to the first."""
    session = bench.session
    show_run(bench, (session.shown + by) % len(session.runs))


def _tr(text: str) -> str:
    return QCoreApplication.translate("Runs", text)
