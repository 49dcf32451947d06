"""Hand measurements that go with the named scenes, as a careful class would have taken them.

They are read off the truth with the rounding of a tape, a film frame or a thermometer, so
they agree with the recording within their uncertainties.
"""

from __future__ import annotations

import math
from typing import Any

from wayside.simulate.presets import HUMIDITY, LOADED_RADIUS_M, TEMP_C, TREADS

_AIR = {
    "formula": "humid-air",
    "temperature": {"value": round(1.8 * TEMP_C + 32, 1), "unit": "°F", "u": 1.0},
    "humidity": {"value": 100 * HUMIDITY, "unit": "%", "u": 10.0},
}


def setup_of(name: str, facts: dict[str, Any]) -> dict[str, Any]:
    """Return the set-up file of the preset `name` as JSON values.

    Parameters
    ----------
    name : str
        A key of `wayside.simulate.presets.PRESETS`.
    facts : dict
        Its truth, as written beside the recording.
    """
    return {
        "format": "wayside-setup",
        "version": 1,
        "title": _TITLES[name],
        "notes": "Made-up demonstration; the recording was rendered by wayside.simulate.",
        "motion": _motion(facts),
        "source": _source(name, facts),
        "air": _AIR,
        "microphone": {"distance": _entry(round(facts["closest_m"]["value"], 2), "m", 0.03)},
    }


_TITLES = {
    "courtyard-buzzer": "Cargo bike with a buzzer in the courtyard",
    "courtyard-windy": "Cargo bike with a buzzer on a windy day",
    "courtyard-tread": "Cargo bike coasting on knobbly tyres",
    "courtyard-film": "Cargo bike filmed between two posts",
}


def _motion(facts: dict[str, Any]) -> dict[str, Any]:
    if "film" in facts:
        film = facts["film"]
        distance = film["marker_distance"]["value"]
        between = [(c["frame_before_time_s"], c["first_frame_time_s"]) for c in film["crossings"]]
        # the crossing lies somewhere between two frames: rectangular (JCGM 100, 4.3.7)
        times = [
            _entry(round((a + b) / 2, 3), "s", round((b - a) / math.sqrt(12), 4))
            for a, b in between
        ]
    else:
        distance = 4.0
        passing, speed = facts["passing_time_s"]["value"], facts["speed_mps"]["value"]
        times = [
            _entry(round(passing + place / speed, 2), "s", 0.01)
            for place in (-distance / 2, distance / 2)
        ]
    return {
        "marker_distance": _entry(distance, "m", 0.01),
        "first_time": times[0],
        "second_time": times[1],
    }


def _source(name: str, facts: dict[str, Any]) -> dict[str, Any]:
    if facts["kind"] == "tone":
        return {"kind": "tone", "pitch": _entry(round(facts["source_hz"]["value"]), "Hz", 2.0)}
    wheel = {"kind": "wheel", "count": _entry(TREADS, "", 0.0)}
    if name == "courtyard-film":
        turns = 5
        rolled = round(turns * 2 * math.pi * LOADED_RADIUS_M, 2)
        return wheel | {
            "rollout": _entry(rolled, "m", 0.02),
            "rollout_turns": _entry(turns, "", 0.0),
        }
    return wheel | {"loaded_radius": _entry(100 * LOADED_RADIUS_M, "cm", 0.2)}


def _entry(value: float, unit: str, u: float) -> dict[str, Any]:
    return {"value": value, "unit": unit, "u": u}
