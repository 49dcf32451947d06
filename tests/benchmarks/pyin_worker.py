"""Run a general-purpose pitch tracker in an environment of its own.

Started by side_by_side.py with another Python; reads one JSON line a job
(``{"in": NPY, "out": NPZ, "rate": R, "low": F, "high": F}``) and answers with the seconds it
took. It imports nothing of the program.
"""

import json
import sys
import time

import librosa
import numpy as np


def main() -> None:
    """Serve jobs until the input ends."""
    # the first call compiles; that is not the tracker's running time
    librosa.pyin(np.zeros(22050, np.float32), fmin=100, fmax=400, sr=22050)
    print("ready", flush=True)
    for line in sys.stdin:
        job = json.loads(line)
        sound = np.load(job["in"])
        begin = time.perf_counter()
        pitch, _, _ = librosa.pyin(sound, fmin=job["low"], fmax=job["high"], sr=job["rate"])
        seconds = time.perf_counter() - begin
        times = librosa.times_like(pitch, sr=job["rate"])
        np.savez(job["out"], times=times, pitch=pitch)
        print(json.dumps({"seconds": seconds}), flush=True)


if __name__ == "__main__":
    main()
