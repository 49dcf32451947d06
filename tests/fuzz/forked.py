"""Runs one case in a process of its own, forked so that nothing has to be imported again.

The program starts its decoding children as new interpreters; here they are forked too, with the
same code, arguments and limits, which is some thirty times as fast.
"""

from __future__ import annotations

import importlib
import io
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from tests.fuzz.targets import READ, REFUSED, TARGETS

import wayside.decoding.child as child

LONGEST_S = 10.0
MOST_BYTES = 2**30
_ENDS = {READ: 0, REFUSED: 3}
_FAULT = 4


class ForkedChild:
    """Stands in for the process that the program would start to decode a file."""

    def __init__(self, module: str, path: Path, options: tuple[str, ...], listens: bool) -> None:
        out_read, out_write = os.pipe()
        in_read, in_write = os.pipe()
        self._pid = os.fork()
        if self._pid == 0:
            os.dup2(in_read, 0)
            os.dup2(out_write, 1)
            os.closerange(3, 256)
            _be_child(module, path, options)
        os.close(out_write)
        os.close(in_read)
        self.stdout: BinaryIO = os.fdopen(out_read, "rb")
        self.stdin: BinaryIO | None = os.fdopen(in_write, "wb")
        self._killed = False

    def kill(self) -> None:
        """End it at once."""
        self._killed = True
        os.kill(self._pid, signal.SIGKILL)

    def wait(self) -> int:
        """Wait for its end; a fault in it is told on standard error."""
        _, status = os.waitpid(self._pid, 0)
        if os.WIFSIGNALED(status) and os.WTERMSIG(status) != signal.SIGKILL:
            print(f"CHILD ended by signal {os.WTERMSIG(status)}", file=sys.stderr, flush=True)
        return status


def _be_child(module: str, path: Path, options: tuple[str, ...]) -> None:
    code = 1
    try:
        sys.argv = [module, str(path.absolute()), *options]
        sys.stdin = io.TextIOWrapper(io.BufferedReader(io.FileIO(0, "r")))
        sys.stdout = io.TextIOWrapper(io.BufferedWriter(io.FileIO(1, "w")))
        code = importlib.import_module(module).main()
    except BaseException:
        print("CHILD raised\n" + traceback.format_exc(), file=sys.stderr, flush=True)
    finally:
        os._exit(code)


@contextmanager
def forked_children() -> Iterator[None]:
    """Let the program fork its decoding children."""
    started = child._start
    child._start = ForkedChild  # type: ignore[assignment]
    try:
        yield
    finally:
        child._start = started


@dataclass(frozen=True)
class Case:
    """How one case ended.

    Parameters
    ----------
    outcome : str
        ``"read"``, ``"refused"``, or what went wrong.
    detail : str
        What was printed, if anything went wrong.
    seconds : float
    memory_mb : float
        The most that the process or its decoding child held at once.
    """

    outcome: str
    detail: str
    seconds: float
    memory_mb: float

    @property
    def is_good(self) -> bool:
        """Whether it ended as a result or as a sentence, in time and in bounds."""
        return self.outcome in _ENDS


def run_case(target: str, path: Path) -> Case:
    """Run one damaged file through a target.

    Parameters
    ----------
    target : str
        Key of `wayside`'s readers in `tests.fuzz.targets.TARGETS`.
    path : Path
    """
    log = path.with_suffix(".log")
    began = time.monotonic()
    pid = os.fork()
    if pid == 0:
        _be_case(target, path, log)
    status, usage = _awaited(pid, began + LONGEST_S)
    seconds = time.monotonic() - began
    said = log.read_text(errors="replace") if log.exists() else ""
    memory, said = _memory(said, usage.ru_maxrss if usage else 0)
    return Case(_outcome(status, said, memory), said, seconds, memory / 1e3)


def _be_case(target: str, path: Path, log: Path) -> None:
    os.setsid()
    handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(handle, 2)
    os.dup2(handle, 1)
    sys.stderr = io.TextIOWrapper(io.FileIO(2, "w"), write_through=True)
    code = _FAULT
    try:
        with forked_children():
            code = _ENDS[TARGETS[target](path)]
    except BaseException:
        traceback.print_exc()
    finally:
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
        print(f"MEMORY {most}", file=sys.stderr, flush=True)
        os._exit(code)


def _awaited(pid: int, deadline: float) -> tuple[int | None, resource.struct_rusage | None]:
    while time.monotonic() < deadline:
        found, status, usage = os.wait4(pid, os.WNOHANG)
        if found:
            return status, usage
        time.sleep(0.001)
    os.killpg(pid, signal.SIGKILL)
    os.wait4(pid, 0)
    return None, None


def _memory(said: str, own_kb: int) -> tuple[int, str]:
    lines = said.splitlines()
    told = [int(line.split()[1]) for line in lines if line.startswith("MEMORY ")]
    rest = "\n".join(line for line in lines if not line.startswith("MEMORY "))
    return max([own_kb, *told]), rest


def _outcome(status: int | None, said: str, memory_kb: int) -> str:
    if status is None:
        return "took too long"
    if os.WIFSIGNALED(status):
        return f"crashed by signal {os.WTERMSIG(status)}"
    if "CHILD raised" in said:
        return "the decoding child raised"
    if memory_kb * 1000 > MOST_BYTES:
        return "took too much memory"
    for name, code in _ENDS.items():
        if os.WEXITSTATUS(status) == code:
            return name
    return "fault"
