"""What limits a measurement, and what its user should be warned of, in plain sentences."""

from __future__ import annotations

import numpy as np

from wayside.measure.fitted import Choice, Drift
from wayside.measure.options import MeasureOptions
from wayside.measure.refine import Sound
from wayside.measure.result import Fit, Track, TwoWindow
from wayside.quantity import Quantity
from wayside.sound.recording import Recording

CLIPPED_SHARE = 1e-4
# what keeps its phase for so long loses none that is heard (s)
STEADY_S = 100.0
# odds of 20 to 1
SURE_NATS = 3.0


def limits_of(
    fit: Fit, sound_speed: Quantity, options: MeasureOptions, choice: Choice
) -> tuple[str, ...]:
    """Return what limits the speed, the largest part first.

    `choice` tells whether a reflection off the ground, pulses or a drift were told apart, and
    whether the source strays.
    """
    v, u = fit.speed_mps.value, fit.speed_mps.u
    by_c = v * sound_speed.u / sound_speed.value
    by_sound = float(np.sqrt(max(0.0, u * u - by_c * by_c)))
    parts = [
        (
            by_c,
            f"The speed of sound is known to {100 * sound_speed.relative_u:.1f} %, which alone "
            f"makes {by_c:.2g} m/s of the speed's uncertainty: measure the air temperature.",
        )
    ]
    parts.append((by_sound, _of_the_sound(fit, options, choice, by_sound)))
    parts.sort(key=lambda item: -item[0])
    return tuple(text for _, text in parts)


def _of_the_sound(fit: Fit, options: MeasureOptions, choice: Choice, by_sound: float) -> str:
    """Return what in the sound limits the speed, to `by_sound` (m/s)."""
    if fit.method == "coherent" and choice.astray_m > 0:
        return (
            f"The source may stray by about {100 * choice.astray_m:.1g} cm from a straight "
            f"line ridden evenly; noise hides most of that, which makes {by_sound:.2g} m/s of "
            "the speed's uncertainty."
        )
    if fit.method == "coherent":
        return (
            "The source keeps its phase through the pass, so only background noise limits "
            f"the fit, to {by_sound:.2g} m/s."
        )
    if choice.pulses is not None:
        return (
            "Background noise and echoes that change within the pulses limit the fit, to "
            f"{by_sound:.2g} m/s."
        )
    if choice.drift is not None and choice.constant is not None and not choice.constant.unrest.any:
        return (
            "Background noise and the drift of the source's own pitch limit the fit, to "
            f"{by_sound:.2g} m/s."
        )
    if choice.reflection is not None:
        return (
            "Background noise and what the ground does beyond a plain reflection limit the "
            f"fit, to {by_sound:.2g} m/s."
        )
    advice = (
        "" if options.closest is not None else ": measure the distance from microphone to track"
    )
    astray_m, kept_s = choice.fits[0].unrest.weave_m, fit.coherence_time_s
    if astray_m > 0:
        return (
            f"The source strays by about {100 * astray_m:.1g} cm from a straight line ridden "
            f"evenly, which makes {by_sound:.2g} m/s of the speed's uncertainty{advice}."
        )
    unsteady = f" (its phase is lost within about {kept_s:.2g} s)" if kept_s < STEADY_S else ""
    return (
        f"The source's own pitch wavers{unsteady}, which makes {by_sound:.2g} m/s of "
        f"the speed's uncertainty{advice}."
    )


def warnings_of(
    recording: Recording,
    fits: list[Fit],
    choice: Choice,
    track: Track,
    reading: TwoWindow | None,
    sound: Sound,
) -> tuple[str, ...]:
    """Return warnings about a found pass-by, in the order a reader should weigh them.

    `sound` is the stretch that it was fitted in.
    """
    out = [*recording.notes, *_unsteady(sound)]
    fit = fits[0]
    p = fit.passby
    crossing = p.closest_m / p.speed_mps
    before = p.heard_passing_s - float(track.times_s[0])
    after = float(track.times_s[-1]) - p.heard_passing_s
    if before < 0.0:
        out.append(
            f"The passing itself is not heard: the tone sets in {-before:.2g} s after it, so speed "
            "and distance rest on the recede side alone."
        )
    elif after < 0.0:
        out.append(
            f"The passing itself is not heard: the tone ends {-after:.2g} s before it, so speed "
            "and distance rest on the approach side alone."
        )
    elif before < crossing or after < crossing:
        side = "approach" if before < after else "recede"
        out.append(
            f"The tone is heard for only {min(before, after):.2g} s on the {side} side, so speed "
            "and distance rest mostly on the other side."
        )
    if choice.reflection is not None:
        out.append(
            "The tone is heard twice, directly and off the ground, which is "
            f"{choice.reflection.longer_m:.2g} m farther at the closest point; the fit tells the "
            "two apart."
        )
    if choice.drift is not None and choice.drift.clear:
        out.append(_drifts(choice.drift))
    if choice.pulses is not None:
        out.append(
            f"The tone sounds in {choice.pulses.starts_s.size} regular pulses; each may begin at a "
            "phase of its own, so that the pitch within pulses alone tells the speed."
        )
    if choice.wheels is not None and choice.wheels.gain < SURE_NATS:
        out.append(
            "The hum swells and fades too much for its phase to be followed; the fit leaves it "
            "open whether one wheel hums or both; what passes is where the hum comes from, nearer "
            "the louder wheel."
        )
    elif choice.wheels is not None:
        out.append(
            "Both wheels are heard, their pitches "
            f"{100 * abs(choice.wheels.ratio):.2g} ± {100 * choice.wheels.ratio_u:.1g} % apart; "
            "the fit tells the two apart, and what passes is where the hum comes from, nearer the "
            "louder wheel."
        )
    if choice.wheels is not None and choice.wheels.waver > 0.0:
        out.append(
            f"The speed of the bicycle wavers by about {100 * choice.wheels.waver:.1g} %; the "
            "speed given is the mean about the passing."
        )
    if recording.clipped_fraction > CLIPPED_SHARE:
        out.append(
            f"{100 * recording.clipped_fraction:.2g} % of the samples are clipped; pitch is "
            "little affected, level is."
        )
    if len(fits) > 1:
        other = fits[1]
        what = (
            "a pitch tied to the speed" if other.source_model == "speed-tied" else "a fixed pitch"
        )
        out.append(
            f"The sound cannot tell the source model: with {what} the speed would be "
            f"{other.speed_mps}. Say what the source is to decide."
        )
    out += _constant_speed(choice)
    if reading is None:
        out.append(
            "There is no room for two reading windows far enough from the passing; only the "
            "curve fit is given."
        )
    elif (own := _own_change(fit, reading)) is not None:
        out.append(own)
    elif reading.approach.shortfall_hz or reading.recede.shortfall_hz:
        low = fit.speed_mps.value - reading.speed_mps.value
        if low > 0.02 * fit.speed_mps.value:
            out.append(
                "The two windows lie so near the passing that their pitches fall short of the "
                f"limits by {abs(reading.approach.shortfall_hz):.2g} Hz and "
                f"{abs(reading.recede.shortfall_hz):.2g} Hz, which makes their speed too low."
            )
    return tuple(out)


def _drifts(drift: Drift) -> str:
    size, u = f"{100 * abs(drift.per_s):.2g}", f"{100 * drift.u:.1g}"
    if drift.per_s < 0:
        return (
            f"The source's own pitch falls by {size} ± {u} % a second, whatever its speed; the fit "
            "tells that from the Doppler shift."
        )
    return (
        f"The source's own pitch rises by {size} ± {u} % a second, whatever its speed; the fit "
        "tells that from the Doppler shift."
    )


def _unsteady(sound: Sound) -> list[str]:
    before, after = sound.unsteady
    if before and after:
        return [
            f"The source kept its speed from {sound.start_s:.1f} s to {sound.stop_s:.1f} s only; "
            "what is heard before and after is left out."
        ]
    if before:
        return [
            f"The source did not keep its speed before {sound.start_s:.1f} s; only what is heard "
            "from then on is used."
        ]
    if after:
        return [
            f"The source did not keep its speed after {sound.stop_s:.1f} s; only what is heard "
            "until then is used."
        ]
    return []


def _own_change(fit: Fit, reading: TwoWindow) -> str | None:
    """Return a sentence where two windows take the source's own change of pitch for Doppler."""
    p = fit.passby
    if not p.speed_tied:
        return None
    middles = [0.5 * (w.start_s + w.stop_s) for w in (reading.approach, reading.recede)]
    before, after = p.velocity(p.emission_time(np.array(middles)))
    fall = p.source_hz * float(before - after) / p.speed_mps
    wrong = 0.5 * p.sound_speed_mps * fall / p.source_hz
    if abs(wrong) < max(0.02 * p.speed_mps, reading.speed_mps.u):
        return None
    way, error = ("falls", "high") if fall > 0 else ("rises", "low")
    return (
        f"With its speed the source's own pitch {way} by {abs(fall):.2g} Hz from one window to the "
        f"other, which two windows alone take for Doppler shift: their speed is {abs(wrong):.2g} "
        f"m/s too {error}."
    )


def _constant_speed(choice: Choice) -> list[str]:
    constant, accelerated = choice.constant, choice.accelerated
    if accelerated is None or accelerated.u(4) == 0:
        return []
    a, u = accelerated.passby.acceleration_mps2, accelerated.u(4)
    change = "slows" if a < 0 else "speeds up"
    if abs(a) < 2.0 * u:
        # a better maximum found on the way is no change of speed
        return []
    if constant is None:
        return [f"The source {change} by {abs(a):.2g} ± {u:.1g} m/s² as it passes."]
    odds = accelerated.evidence - constant.evidence
    probability = 1.0 / (1.0 + float(np.exp(-np.clip(odds, -50, 50))))
    if probability > 0.95:
        return [
            f"The speed was not constant: the source {change} by {abs(a):.2g} ± {u:.1g} m/s² "
            f"(probability {100 * min(probability, 0.9999):.4g} %)."
        ]
    return []
