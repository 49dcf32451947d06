"""Tasks measured side by side in processes of their own; a crash costs one recording only."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Generator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, suppress
from dataclasses import dataclass
from multiprocessing import connection
from multiprocessing.synchronize import Event
from pathlib import Path

from wayside.batch.keep import keep, kept
from wayside.batch.one import Task, key_of, measure_one
from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.review.row import FAILED, RunRow, failed_row

POLL_S = 0.1

_stop: Event | None = None
"""In a worker: set once the user asked to stop."""


@dataclass(frozen=True)
class Finished:
    """One recording that is done.

    Parameters
    ----------
    index : int
        Of its task.
    row : RunRow
    key : str
        Under which it is kept; empty if its files could not be read.
    again : bool
        True when it had been measured before and was only read back.
    """

    index: int
    row: RunRow
    key: str
    again: bool = False


def run_batch(
    tasks: Sequence[Task], out: Path, workers: int = 0, job: Job = QUIET
) -> tuple[RunRow, ...]:
    """Measure every task and return the rows in the order of the tasks.

    Parameters
    ----------
    tasks : sequence of Task
    out : Path
        Folder, made ready by `wayside.batch.keep.prepare`, where finished rows are kept.
    workers : int
        How many processes; 0 for one a core.
    job : Job
        Told of every recording as it is done.

    Raises
    ------
    InputError
        If a finished row cannot be kept (full disk).
    Cancelled
        If the job was cancelled; what was finished is kept.
    """
    rows: dict[int, RunRow] = {}
    with closing(_finished(tasks, out, workers or os.cpu_count() or 1, job)) as finished:
        for done in finished:
            rows[done.index] = done.row
            if done.key and not done.again:
                keep(out, done.key, done.row)
            job.step(len(rows) / len(tasks), _said(done, len(rows), len(tasks)))
    return tuple(rows[i] for i in range(len(tasks)))


def _finished(
    tasks: Sequence[Task], out: Path, workers: int, job: Job
) -> Generator[Finished, None, None]:
    todo: list[tuple[int, str]] = []
    for index, task in enumerate(tasks):
        job.check()
        try:
            key = key_of(task, job)
        except InputError as error:
            yield Finished(index, _failed(task, str(error)), "")
            continue
        row = kept(out, key)
        if row is None:
            todo.append((index, key))
        else:
            yield Finished(index, row, key, again=True)
    left = dict(todo)
    for done in _side_by_side(tasks, todo, min(workers, len(todo)), job):
        del left[done.index]
        yield done
    # a process ended by itself and took the others' places with it: find the one to blame
    for index, key in list(left.items()):
        for done in _side_by_side(tasks, [(index, key)], 1, job):
            del left[done.index]
            yield done
    for index in left:
        sentence = (
            f"“{tasks[index].entry.name}” made the measuring process end, most likely for want of "
            "memory; cut it shorter or use fewer --workers."
        )
        yield Finished(index, _failed(tasks[index], sentence), "")


def _side_by_side(
    tasks: Sequence[Task], todo: Sequence[tuple[int, str]], workers: int, job: Job
) -> Generator[Finished, None, None]:
    """Yield what gets done; ends early, without the rest, if a process ended by itself."""
    if not todo:
        return
    context = multiprocessing.get_context("spawn")
    stop = context.Event()
    with ProcessPoolExecutor(workers, context, begin, (stop,)) as pool:
        waiting: dict[Future[RunRow], tuple[int, str]] = {}
        try:
            waiting |= {pool.submit(_work, tasks[i]): (i, key) for i, key in todo}
            while waiting:
                ready, _ = wait(waiting, POLL_S, FIRST_COMPLETED)
                job.check()
                for future in ready:
                    index, key = waiting.pop(future)
                    yield Finished(index, future.result(), key)
        except BrokenProcessPool:
            return
        finally:
            stop.set()
            pool.shutdown(wait=True, cancel_futures=True)


def begin(stop: Event) -> None:
    """Begin a worker process that heeds `stop` and ends with its parent."""
    global _stop
    _stop = stop
    # the terminal sends Ctrl+C to every process; only the first one decides what to do
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    with suppress(OSError):
        connection.wait([sentinel])
    os._exit(1)


def _work(task: Task) -> RunRow:
    return measure_one(task, worker_job())


def worker_job() -> Job:
    """Return a job, in a worker process, that is cancelled once the user asked to stop."""
    return Job(cancelled=_stop.is_set if _stop is not None else _never)


def _never() -> bool:
    return False


def _failed(task: Task, sentence: str) -> RunRow:
    return failed_row(
        task.entry.name, sentence, group=task.entry.group, direction=task.entry.direction
    )


def _said(done: Finished, number: int, count: int) -> str:
    row = done.row
    speed = row.speed_mps.measured
    what = str(speed) if speed is not None else row.sentence
    if row.outcome == FAILED:
        what = f"failed: {row.sentence}"
    again = " (measured before)" if done.again else ""
    return f"{number} of {count}  {row.name}: {what}{again}"
