"""Time against one plain short-time transform, an hour in bounded memory, and cancelling.

Writes cost.csv and cost.md. The transform is scipy's ShortTimeFFT, 4096 points, Hann window,
75 % overlap, of the same samples.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from tests.benchmarks.harness import ROOT, Kept, machine, markdown, parser, say

from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

RATE_HZ = 48000.0
COLUMNS = ("what", "value", "unit", "asked for")
_CHUNK_S = 10.0


@dataclass(frozen=True)
class EndlessStore:
    """A recording made as it is read: a pass in the middle of noise that is never stored."""

    n_samples: int
    passing: npt.NDArray[np.float32]
    start: int
    noise_rms: float = 0.02

    def read(self, start: int, stop: int) -> npt.NDArray[np.float32]:
        """Return samples `start` to `stop`, shape (stop - start, 1)."""
        step = int(_CHUNK_S * RATE_HZ)
        out = np.empty((stop - start, 1), np.float32)
        for chunk in range(start // step, -(-stop // step)):
            first, last = max(start, chunk * step), min(stop, (chunk + 1) * step)
            made = np.random.default_rng([chunk]).standard_normal(step, np.float32)
            made *= np.float32(self.noise_rms)
            part = made[first - chunk * step : last - chunk * step]
            out[first - start : last - start, 0] = part
        low, high = max(start, self.start), min(stop, self.start + len(self.passing))
        if low < high:
            out[low - start : high - start, 0] += self.passing[low - self.start : high - self.start]
        return out


def passing(duration_s: float = 12.0) -> Scene:
    """Return the pass used for timing: a buzzer on a bicycle."""
    p = PassBy(900.0, 6.0, 2.5, duration_s / 2)
    source = Source(p, (1.0, 0.4, 0.2))
    return Scene((source,), duration_s, RATE_HZ, background=Background(white_tnr_db=10.0))


def long_recording(duration_s: float) -> Recording:
    """Return a recording of `duration_s` with one pass in its middle."""
    sound = render(passing().with_(background=Background()))[:, 0]
    n = int(duration_s * RATE_HZ)
    store = EndlessStore(n, sound, (n - len(sound)) // 2)
    return Recording("long", RATE_HZ, n, 1, store)


def transform_seconds(sound: npt.NDArray[np.float32], repeats: int = 5) -> float:
    """Return the median time of the plain transform (s)."""
    from scipy.signal import ShortTimeFFT
    from scipy.signal.windows import hann

    transform = ShortTimeFFT(hann(4096, sym=False), 1024, RATE_HZ)
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        transform.stft(sound)
        times.append(time.perf_counter() - begin)
    return statistics.median(times)


def measure_seconds(recording: Recording, repeats: int = 5) -> tuple[float, bool]:
    """Return the median time of a measurement (s) and whether the pass was found."""
    from wayside.measure.options import MeasureOptions
    from wayside.measure.pipeline import measure

    times, found = [], True
    for _ in range(repeats):
        begin = time.perf_counter()
        found = measure(recording, MeasureOptions()).found and found
        times.append(time.perf_counter() - begin)
    return statistics.median(times), found


def ratio(seconds: float = 60.0, repeats: int = 5) -> tuple[float, float, bool]:
    """Return (time of measuring / time of the transform, seconds of the transform, found)."""
    recording = long_recording(seconds)
    sound = recording.mono()
    held = Recording.from_array(sound, RATE_HZ)
    measure_seconds(held, 1)
    plain = transform_seconds(sound, repeats)
    ours, found = measure_seconds(held, repeats)
    return ours / plain, plain, found


def in_a_process(duration_s: float) -> dict[str, float]:
    """Measure a long recording in a process of its own: seconds, peak MB, found."""
    code = (
        "import json, sys\n"
        "from tests.benchmarks.cost import long_recording, measure_seconds\n"
        "seconds, found = measure_seconds(long_recording(float(sys.argv[1])), 1)\n"
        "status = open('/proc/self/status')\n"
        "peak = next(int(s.split()[1]) for s in status if s.startswith('VmHWM')) / 1024\n"
        "print(json.dumps({'seconds': seconds, 'peak_mb': peak, 'found': float(found)}))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(duration_s)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return dict(json.loads(done.stdout))


def cancel_seconds(recording: Recording, after_s: float) -> float | None:
    """Return how long a measurement goes on after being cancelled; None if it was done before."""
    from wayside.errors import Cancelled
    from wayside.jobs import Job
    from wayside.measure.options import MeasureOptions
    from wayside.measure.pipeline import measure

    begin = time.perf_counter()
    job = Job(cancelled=lambda: time.perf_counter() - begin > after_s)
    try:
        measure(recording, MeasureOptions(), job)
    except Cancelled:
        return time.perf_counter() - begin - after_s
    return None


def main() -> None:
    """Run the benchmark from the command line."""
    options = parser(__doc__, "cost")
    options.add_argument("--repeats", type=int, default=5)
    options.add_argument(
        "--minutes", type=float, nargs="*", default=[7.5, 15, 30, 60], help="lengths to time"
    )
    args = options.parse_args()
    kept = Kept(args.out / "cost.csv", COLUMNS)

    def keep(what: str, value: float, unit: str, asked: str) -> None:
        kept.keep({"what": what, "value": value, "unit": unit, "asked for": asked})
        say(f"{what}: {value:.4g} {unit}")

    times, plain, found = ratio(repeats=args.repeats)
    keep("measuring 60 s over one transform", times, "times", "at most 4, better 2")
    keep("one transform of 60 s", plain, "s", "")
    keep("pass found in 60 s", float(found), "", "1")
    for minutes in args.minutes:
        cost = in_a_process(60 * minutes)
        name = f"{minutes:g} min of sound"
        keep(f"{name}: time a minute", cost["seconds"] / minutes, "s", "the same for every length")
        keep(f"{name}: peak memory", cost["peak_mb"], "MB", "under 600")
        keep(f"{name}: pass found", cost["found"], "", "1")
    recording = long_recording(600.0)
    waits = []
    for after in np.geomspace(0.02, 20.0, 12):
        wait = cancel_seconds(recording, float(after))
        if wait is None:
            break
        waits.append(wait)
    if waits:
        keep("longest wait after cancelling", max(waits), "s", "under 0.2")
    table = markdown(COLUMNS, list(kept.rows.values()))
    (args.out / "cost.md").write_text(
        f"# Cost\n\n{table}\nMade by `python -m tests.benchmarks.cost`. {machine()}\n",
        encoding="utf-8",
    )
    print(table)


if __name__ == "__main__":
    main()
