"""Why no pass-by was found, in a sentence."""

from __future__ import annotations

from wayside.measure.hunt import Sighting
from wayside.measure.readings import THRESHOLD


def why_nothing(sightings: list[Sighting]) -> str:
    """Return why nothing that was seen is worth following."""
    if not sightings:
        return "No pass-by found: there is no tone that stands out from the background."
    top = max(sightings, key=lambda s: s.candidate.score).candidate
    if top.score > 4.0 * THRESHOLD and top.evidence < 0.2 * top.score:
        return (
            f"No pass-by found: there is a tone near {top.alpha_hz:.0f} Hz, but its pitch does "
            "not fall the way that of a passing source does."
        )
    return "No pass-by found: no tone glides down clearly enough above the background."


def why_rejected(sighting: Sighting, fault: str, mimic: bool = False, tyre: bool = False) -> str:
    """Return why a sighting is no pass-by: a clause says what is wrong with it.

    Of what may be a `tyre`, but was not told to be one, it says that telling it may help.
    """
    glide = sighting.candidate
    pitch_hz, time_s = f"{glide.alpha_hz:.0f}", f"{glide.tc:.1f}"
    if mimic and tyre:
        return (
            f"No pass-by found: a pitch near {pitch_hz} Hz mimics a passing source around "
            f"{time_s} s, but {fault}. If it is the hum of a wheel, say so: then both of a "
            "bicycle's are looked for."
        )
    if mimic:
        return (
            f"No pass-by found: a pitch near {pitch_hz} Hz mimics a passing source around "
            f"{time_s} s, but {fault}."
        )
    if tyre:
        return (
            f"No pass-by found: a pitch near {pitch_hz} Hz falls around {time_s} s, but {fault}. "
            "If it is the hum of a wheel, say so: then both of a bicycle's are looked for."
        )
    return f"No pass-by found: a pitch near {pitch_hz} Hz falls around {time_s} s, but {fault}."
