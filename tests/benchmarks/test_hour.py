"""An hour of sound at 48 kHz stays below 600 MB of peak memory, measured in a process apart."""

from __future__ import annotations

import json
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

HOUR = 3600
RATE = 48_000
PACKET = 1024  # samples in a packet of AAC
CODE = """
import json, resource, sys, time
from pathlib import Path
from wayside.sound.media import load_recording
begin = time.monotonic()
recording = load_recording(Path(sys.argv[1]))
middle = recording.mono(recording.n_samples // 2, recording.n_samples // 2 + 48000)
# of this program alone: what getrusage gives lives on from the process that started it
own = next(int(s.split()[1]) for s in open('/proc/self/status') if s.startswith('VmHWM'))
child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
print(json.dumps({"kib": own + child, "seconds": time.monotonic() - begin,
                  "n": recording.n_samples, "rms": float((middle ** 2).mean() ** 0.5)}))
"""


def _measure(path: Path) -> dict[str, float]:
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(path)], capture_output=True, text=True, check=True
    )
    result = json.loads(done.stdout)
    print(f"{path.name}: {result['kib'] / 1024:.0f} MiB, {result['seconds']:.1f} s")
    return result


@pytest.mark.parametrize(("name", "channels"), [("hour.wav", 2), ("hour.flac", 1)])
def test_an_hour_of_plain_sound(tmp_path: Path, name: str, channels: int) -> None:
    minute = (0.1 * np.random.default_rng(0).standard_normal((60 * RATE, channels))).astype("f4")
    with soundfile.SoundFile(tmp_path / name, "w", RATE, channels) as out:
        for _ in range(60):
            out.write(minute)
    result = _measure(tmp_path / name)
    assert result["n"] == HOUR * RATE
    assert result["rms"] == pytest.approx(0.1 / channels**0.5, rel=0.02)
    assert result["kib"] < 600 * 1024


def test_an_hour_of_aac(tmp_path: Path) -> None:
    import av

    minute = (0.1 * np.random.default_rng(0).standard_normal((1, 60 * RATE))).astype("f4")
    with av.open(str(tmp_path / "hour.m4a"), "w") as out:
        stream = out.add_stream("aac", rate=RATE, layout="mono", options={"aac_coder": "fast"})
        frame = av.AudioFrame.from_ndarray(minute, format="fltp", layout="mono")
        frame.sample_rate, frame.pts = RATE, 0
        # a minute is encoded, and its packets are written over and over
        packets = [bytes(p) for p in (*stream.encode(frame), *stream.encode(None))][1:-1]
        for k in range(HOUR * RATE // PACKET):
            packet = av.Packet(packets[k % len(packets)])
            packet.stream, packet.time_base = stream, Fraction(1, RATE)
            packet.pts = packet.dts = k * PACKET
            packet.duration = PACKET
            out.mux(packet)
    result = _measure(tmp_path / "hour.m4a")
    assert result["n"] == pytest.approx(HOUR * RATE, abs=2048)
    # the codec leaves out the highest third, so somewhat less than what went in
    assert 0.07 < result["rms"] < 0.1
    assert result["kib"] < 600 * 1024
