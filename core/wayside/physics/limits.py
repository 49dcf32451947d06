"""Far-limit pitches of a pass-by: moving source, moving observer or both, with wind.

Along the track the sound travels over the ground at ``c_x + w`` with the wind and ``c_x - w``
against it, ``c_x = sqrt(c^2 - w_across^2)`` (the wave must head into a cross wind to stay on
the line). For a source moving at v_s along +x and an observer moving at v_o along -x:

    f_approach = f0 (A + v_o)/(A - v_s),  A = c_x + w
    f_recede   = f0 (B - v_o)/(B + v_s),  B = c_x - w

Elementary: see any introductory text on the Doppler effect; wind enters as a moving medium.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

N = TypeVar("N", float, npt.NDArray[np.float64])


def speeds_along_track(sound_mps: N, wind_along_mps: N, wind_across_mps: N) -> tuple[N, N]:
    """Return the ground speed of sound travelling forward and backward along the track.

    Parameters
    ----------
    sound_mps : float or ndarray
        Speed of sound in still air (m/s).
    wind_along_mps, wind_across_mps : float or ndarray
        Wind along the direction of travel (positive: from behind) and across it (m/s).

    Returns
    -------
    forward_mps, backward_mps : float or ndarray
    """
    square: N = sound_mps * sound_mps - wind_across_mps * wind_across_mps
    along: N = square**0.5
    return along + wind_along_mps, along - wind_along_mps


def far_limits(
    source_hz: N, forward_mps: N, backward_mps: N, source_speed_mps: N, observer_speed_mps: N
) -> tuple[N, N]:
    """Return the pitches heard long before and long after the passing (Hz).

    Parameters
    ----------
    source_hz : float or ndarray
        Pitch of the source (Hz).
    forward_mps, backward_mps : float or ndarray
        From `speeds_along_track`, forward being the source's direction.
    source_speed_mps, observer_speed_mps : float or ndarray
        Speeds over the ground (m/s); the observer's counts positive towards the source.

    Returns
    -------
    approach_hz, recede_hz : float or ndarray
    """
    approach: N = source_hz * (forward_mps + observer_speed_mps) / (forward_mps - source_speed_mps)
    recede: N = source_hz * (backward_mps - observer_speed_mps) / (backward_mps + source_speed_mps)
    return approach, recede


def source_from_limits(
    approach_hz: N, recede_hz: N, forward_mps: N, backward_mps: N, observer_speed_mps: N
) -> tuple[N, N]:
    """Back-solve a moving source from its two far pitches, the observer's speed being known.

    With ``K = (f_a/f_r) (B - v_o)/(A + v_o)``: ``v_s = (K A - B)/(1 + K)`` and
    ``f0 = f_a (A - v_s)/(A + v_o)``. In still air with the observer at rest this is
    ``v = c (f_a - f_r)/(f_a + f_r)`` and f0 the harmonic mean.

    Returns
    -------
    speed_mps, source_hz : float or ndarray
    """
    k: N = (
        approach_hz
        / recede_hz
        * (backward_mps - observer_speed_mps)
        / (forward_mps + observer_speed_mps)
    )
    speed: N = (k * forward_mps - backward_mps) / (1.0 + k)
    source: N = approach_hz * (forward_mps - speed) / (forward_mps + observer_speed_mps)
    return speed, source


def observer_from_limits(
    approach_hz: N, recede_hz: N, forward_mps: N, backward_mps: N
) -> tuple[N, N]:
    """Back-solve a moving observer past a fixed source from the two far pitches.

    The observer meets the sound against its own direction first, so
    ``f_a = f0 (1 + v/B)`` and ``f_r = f0 (1 - v/A)``; in still air f0 is their midpoint.

    Parameters
    ----------
    forward_mps, backward_mps : float or ndarray
        From `speeds_along_track`, forward being the observer's direction.

    Returns
    -------
    speed_mps, source_hz : float or ndarray
    """
    difference: N = approach_hz - recede_hz
    speed: N = (
        forward_mps
        * backward_mps
        * difference
        / (recede_hz * forward_mps + approach_hz * backward_mps)
    )
    source: N = approach_hz * backward_mps / (backward_mps + speed)
    return speed, source
