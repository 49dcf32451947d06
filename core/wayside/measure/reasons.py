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


def why_rejected(sighting: Sighting, fault: str, mimic: bool = False) -> str:
    """Return why a sighting is no pass-by: a clause says what is wrong with it."""
    glide = sighting.candidate
    if mimic:
        return (
            f"No pass-by found: a pitch near {glide.alpha_hz:.0f} Hz mimics a passing source "
            f"around {glide.tc:.1f} s, but {fault}."
        )
    return (
        f"No pass-by found: a pitch near {glide.alpha_hz:.0f} Hz falls around "
        f"{glide.tc:.1f} s, but {fault}."
    )
