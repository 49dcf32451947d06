"""Where the crossings of the markers stand on the spectrogram: when their sound is heard."""

from __future__ import annotations

from wayside.film.clock import UNKNOWN_LINK, ClockLink
from wayside.film.heard import crossing_heard
from wayside.film.together import read_clap
from wayside.hand.sections import FIRST_TIME
from wayside.measure.options import DEFAULT_SOUND_SPEED
from wayside.measure.result import Fit
from wayside.quantity import Quantity
from wayside.session.film_times import FILM_CLOCK
from wayside_app.window.bench import Bench
from wayside_app.window.plot.curve_show import crossing_times


def crossings_on_plot(bench: Bench, straight: bool) -> list[tuple[float, str]]:
    """Return places (s) and names of the crossings on the spectrogram's time axis.

    Parameters
    ----------
    bench : Bench
    straight : bool
        True in the rider's frame, whose axis is when a sound is made and not when it is heard.
    """
    first = bench.reading.entries.get(FIRST_TIME.path)
    if first is not None and first.tool == FILM_CLOCK:
        # times of a slowed film are no times of its sound
        return []
    link, _ = read_clap(bench.session.film.clap, bench.reading.sound_speed or DEFAULT_SOUND_SPEED)
    if bench.session.film_file is not None and link is UNKNOWN_LINK:
        return []
    fit = None if bench.measurement is None else bench.measurement.fit
    shift = _made if straight or fit is None else _heard
    return [(shift(t, fit, link), name) for t, name in crossing_times(bench.reading)]


def _made(seen_s: float, fit: Fit | None, link: ClockLink = UNKNOWN_LINK) -> float:
    return seen_s + link.offset.value


def _heard(seen_s: float, fit: Fit | None, link: ClockLink = UNKNOWN_LINK) -> float:
    assert fit is not None
    speed_of_sound = Quantity(fit.passby.sound_speed_mps, 0.0, "m/s")
    return crossing_heard(
        Quantity(seen_s, 0.0, "s"),
        fit.passing_time_s,
        fit.speed_mps,
        fit.closest_m,
        speed_of_sound,
        link,
    ).value
