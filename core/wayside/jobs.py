"""How long work tells its progress and is asked to stop, without knowing who listens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from wayside.errors import Cancelled


def _silent(fraction: float, message: str) -> None:
    return None


def _never() -> bool:
    return False


@dataclass(frozen=True)
class Job:
    """Two callbacks handed to every function that may take over 200 ms.

    Parameters
    ----------
    report : callable
        ``report(fraction, message)`` with fraction from 0 to 1.
    cancelled : callable
        Returns True once the user asked to stop.
    """

    report: Callable[[float, str], None] = field(default=_silent)
    cancelled: Callable[[], bool] = field(default=_never)

    def check(self) -> None:
        """Raise `Cancelled` if the user asked to stop."""
        if self.cancelled():
            raise Cancelled("Stopped as you asked; nothing was changed.")

    def step(self, fraction: float, message: str) -> None:
        """Report progress and raise `Cancelled` if the user asked to stop."""
        self.check()
        self.report(fraction, message)

    def part(self, start: float, stop: float) -> Job:
        """Return a job whose 0..1 maps to start..stop of this one."""
        return Job(
            report=lambda f, m: self.report(start + (stop - start) * f, m),
            cancelled=self.cancelled,
        )


QUIET = Job()
