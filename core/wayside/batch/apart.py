"""Single recordings measured in processes of their own, for callers that have threads."""

from __future__ import annotations

import multiprocessing
import os
import threading
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing.synchronize import Event
from pathlib import Path

from wayside.batch.run import POLL_S, begin, worker_job
from wayside.errors import Cancelled, MediaError
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement

MOST_WORKERS = 8


def workers_for(cores: int | None) -> int:
    """Return how many recordings are worth measuring at once."""
    return max(1, min(cores or 1, MOST_WORKERS))


@dataclass(frozen=True)
class _Pool:
    stop: Event
    processes: ProcessPoolExecutor

    def end(self) -> None:
        self.stop.set()
        self.processes.shutdown(wait=False, cancel_futures=True)


class Apart:
    """Worker processes, begun when first needed.

    Parameters
    ----------
    workers : int
        How many at most; 0 for one a core.
    """

    def __init__(self, workers: int = 0) -> None:
        self._workers = workers or workers_for(os.cpu_count())
        self._lock = threading.Lock()
        self._pool: _Pool | None = None

    def measure(self, path: Path, options: MeasureOptions, job: Job) -> Measurement:
        """Read and measure one recording in another process, and wait for it.

        Raises
        ------
        InputError
            If the recording or the options cannot be used, or the process ended by itself.
        Cancelled
            If the job was cancelled; every measurement under way here ends with it.
        """
        for _ in range(2):
            pool = self._begun()
            try:
                return _awaited(pool.processes.submit(_measured, path, options), job)
            except Cancelled:
                self._ended(pool)
                job.check()
            except (CancelledError, BrokenProcessPool, RuntimeError):
                # another one was stopped, or crashed, and took this one with it: once more
                self._ended(pool)
        raise MediaError(
            f"“{path.name}” made the measuring process end, most likely for want of memory; cut "
            "it shorter."
        )

    def close(self) -> None:
        """End the processes."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.end()

    def _begun(self) -> _Pool:
        with self._lock:
            if self._pool is None:
                context = multiprocessing.get_context("spawn")
                stop = context.Event()
                processes = ProcessPoolExecutor(self._workers, context, begin, (stop,))
                self._pool = _Pool(stop, processes)
            return self._pool

    def _ended(self, pool: _Pool) -> None:
        with self._lock:
            if self._pool is pool:
                self._pool = None
        pool.end()


def _awaited(future: Future[Measurement], job: Job) -> Measurement:
    while True:
        ready, _ = wait([future], POLL_S)
        job.check()
        if ready:
            return future.result()


def _measured(path: Path, options: MeasureOptions) -> Measurement:
    # heavy, and only needed in the worker
    from wayside.measure.pipeline import measure
    from wayside.sound.media import load_recording

    job = worker_job()
    return measure(load_recording(path, job=job), options, job)
