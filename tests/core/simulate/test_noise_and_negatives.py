"""The noises have the spectra they claim; the negatives are sound and repeatable."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from wayside.errors import InputError
from wayside.simulate import noise
from wayside.simulate.negatives import NEGATIVES, negative

RATE = 16000.0


def _slope(sound: np.ndarray, low: float, high: float) -> float:
    f, power = signal.welch(sound, RATE, nperseg=8192)
    use = (f > low) & (f < high)
    return float(np.polyfit(np.log10(f[use]), np.log10(power[use]), 1)[0])


def test_noise_colours() -> None:
    # definitions: white is flat, pink falls as 1/f
    rng = np.random.default_rng(1)
    n = 400_000
    assert _slope(noise.white(n, rng), 50, 7000) == pytest.approx(0, abs=0.05)
    assert _slope(noise.coloured(n, RATE, 1.0, 20.0, rng), 100, 7000) == pytest.approx(-1, abs=0.1)
    assert _slope(noise.wind(n, RATE, rng), 300, 3000) == pytest.approx(-3, abs=0.4)


def test_mains_hum_lies_on_the_mains_harmonics() -> None:
    hum = noise.mains_hum(int(4 * RATE), RATE, 60.0, 3, np.random.default_rng(2))
    power = np.abs(np.fft.rfft(hum)) ** 2
    assert power[[240, 480, 720]].sum() > 0.999 * power.sum()


def test_random_walk_variance_grows_with_time() -> None:
    # a Wiener process: variance proportional to time (definition)
    rng = np.random.default_rng(3)
    ends = [noise.random_walk(0.5, 0.001, 4.0, rng)[-1] for _ in range(2000)]
    assert np.var(ends) == pytest.approx(4.0 * 0.5, rel=0.1)


@pytest.mark.parametrize("kind", NEGATIVES)
def test_negative_is_sound_and_repeatable(kind: str) -> None:
    one = negative(kind, 7, 1.5, RATE)
    assert one.shape == (24000, 1)
    assert one.dtype == np.float32
    assert np.isfinite(one).all()
    assert 0.05 < one.std() < 0.3
    assert np.array_equal(one, negative(kind, 7, 1.5, RATE))
    assert not np.array_equal(one, negative(kind, 8, 1.5, RATE))


def test_unknown_negative_names_the_known_ones() -> None:
    with pytest.raises(InputError, match="steady tone"):
        negative("silence", 1)
