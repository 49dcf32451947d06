"""One channel out of several, also where they cancel; noise and tones made here."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from wayside.sound.recording import Recording

TONE = np.sin(2 * np.pi * 440 * np.arange(8000) / 8000).astype(np.float32)


def test_channels_of_opposite_sign_do_not_vanish() -> None:
    stereo = np.column_stack([TONE, -0.9 * TONE])
    assert np.array_equal(Recording.from_array(stereo, 8000).mono(), TONE)
    part = Recording.from_array(stereo, 8000).mono(1000, 1200)
    assert np.array_equal(part, TONE[1000:1200])


def test_like_and_unlike_channels_are_averaged() -> None:
    noise = np.random.default_rng(1).standard_normal((8000, 2)).astype(np.float32)
    for stereo in (np.column_stack([TONE, TONE]), noise):
        mean = stereo.mean(axis=1, dtype=np.float32)
        assert np.array_equal(Recording.from_array(stereo, 8000).mono(), mean)


@settings(max_examples=60, deadline=None)
@given(
    hnp.arrays(
        np.float32,
        st.tuples(st.integers(0, 50), st.integers(1, 3)),
        elements=st.floats(-1, 1, width=32),
    )
)
def test_one_channel_is_never_louder_than_the_loudest(block: npt.NDArray[np.float32]) -> None:
    mono = Recording.from_array(block, 8000).mono()
    assert mono.shape == (block.shape[0],)
    loudest = float(np.max(np.sum(block.astype(np.float64) ** 2, axis=0), initial=0.0))
    assert float(np.sum(mono.astype(np.float64) ** 2)) <= loudest * (1 + 1e-5) + 1e-12
