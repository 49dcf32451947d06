"""What is usual of those who pass: riders, and vehicles that are faster than any rider.

Where the sound says next to nothing the fits lean on how pass-bys are staged. A rider's usual
speed is no guide to a car: held to it, the fit of a wavering engine at 60 m/s is drawn so far
from what was heard that its phase is lost, and another found that fits as well.
"""

from __future__ import annotations

from dataclasses import dataclass

from wayside.physics.passby import PassBy

# faster than riders go; nobody is heard from further away; slower passings are no vehicle's
FAST_MPS, FARTHEST_M, LONGEST_CROSSING_S = 15.0, 40.0, 2.0
# so many nats above the noise the glide itself tells how fast it was
CLEAR_NATS = 700.0
# treads, knobs and spokes pass no more often per metre (common practice, no source)
MOST_TREADS_PER_M = 150.0


@dataclass(frozen=True)
class Usual:
    """What is usual; spreads are of a factor's logarithm. Common practice, no source.

    Parameters
    ----------
    closest_m, closest_spread : float
    speed_mps, speed_spread : float
    coasting_mps2 : tuple of float
        Acceleration of one whose pitch follows its speed, and how far it may differ.
    """

    closest_m: float
    closest_spread: float
    speed_mps: float
    speed_spread: float
    coasting_mps2: tuple[float, float]


# a coasting rider loses about 0.05 to 0.15 m/s^2 (rolling and air resistance; common
# practice, no source), a pedalling one nothing; see wayside.measure.doubt for others
RIDER = Usual(2.5, 0.405, 5.5, 0.405, (-0.075, 0.05))
VEHICLE = Usual(8.0, 1.0, 25.0, 0.8, (0.0, 1.0))


def usual_of(p: PassBy, nats: float) -> Usual:
    """Return what is usual of one that was first seen to pass as `p`, `nats` above the noise.

    A slow wheel whose slowing passed for a passing seems faster still, but distant and long.
    """
    near = p.closest_m < FARTHEST_M and p.closest_m / p.speed_mps < LONGEST_CROSSING_S
    return VEHICLE if nats >= CLEAR_NATS and p.speed_mps > FAST_MPS and near else RIDER


def may_be_treads(pitch_hz: float, speed_mps: float) -> bool:
    """Return True for a pitch that the treads of a tyre can make at that speed."""
    return pitch_hz < MOST_TREADS_PER_M * speed_mps
