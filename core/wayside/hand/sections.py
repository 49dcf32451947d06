"""The sections every set-up has: motion, air and microphone (the source has its own kinds)."""

from __future__ import annotations

from wayside.hand.fields import Field, Section, Way
from wayside.hand.units import Dimension

MARKER_DISTANCE = Field(
    "motion.marker_distance",
    "distance between the markers",
    "D",
    "D",
    Dimension.LENGTH,
    0.1,
    10_000.0,
    "Measure along the line the wheel follows, from the same edge of one marker to the same "
    "edge of the other, with the tape pulled straight on the ground.",
    "m",
)
FIRST_TIME = Field(
    "motion.first_time",
    "time at the first marker",
    "t₁",
    "t_1",
    Dimension.TIME,
    -1e6,
    1e6,
    "Use the film's own frame times, not a stopwatch; watch the same point of the vehicle, for "
    "example where the front tyre touches the ground.",
    "s",
    positive=False,
)
SECOND_TIME = Field(
    "motion.second_time",
    "time at the second marker",
    "t₂",
    "t_2",
    Dimension.TIME,
    -1e6,
    1e6,
    "Watch the same point of the vehicle as at the first marker, and stand back so that both "
    "markers are seen nearly square-on.",
    "s",
    positive=False,
)
FIRST_FRAME = Field(
    "motion.first_frame",
    "frame at the first marker",
    "k₁",
    "k_1",
    Dimension.FRAME,
    0.0,
    1e8,
    "Step frame by frame; if the crossing lies between two frames, give the half-way number. "
    "One frame of resolution is a fair uncertainty.",
    "frames",
    positive=False,
)
SECOND_FRAME = Field(
    "motion.second_frame",
    "frame at the second marker",
    "k₂",
    "k_2",
    Dimension.FRAME,
    0.0,
    1e8,
    "Count with the same tool as for the first marker, from the same frame zero.",
    "frames",
    positive=False,
)
FRAME_RATE = Field(
    "motion.frame_rate",
    "frame rate",
    "R",
    "R",
    Dimension.FRAME_RATE,
    1.0,
    100_000.0,
    "Phones vary the frame rate while filming and 30 often means 29.97: prefer the film's "
    "frame times, or give the rate an honest uncertainty of about 1 %.",
    "frames/s",
)
SPEED = Field(
    "motion.speed",
    "speed",
    "v",
    "v",
    Dimension.SPEED,
    0.01,
    1000.0,
    "A speedometer often reads a few per cent high; give it that much uncertainty.",
    "m/s",
)
MOTION = Section(
    "motion",
    "Motion",
    (
        Way("times", "crossing times", (MARKER_DISTANCE, FIRST_TIME, SECOND_TIME)),
        Way("frames", "video frames", (MARKER_DISTANCE, FIRST_FRAME, SECOND_FRAME, FRAME_RATE)),
        Way("speed", "speed known otherwise", (SPEED,)),
    ),
)

TEMPERATURE = Field(
    "air.temperature",
    "air temperature",
    "T",
    "T",
    Dimension.TEMPERATURE,
    -60.0,
    60.0,
    "Hang the thermometer in the shade at the height of the sound's path and wait until it "
    "settles; half a degree is 0.1 % of the speed of sound.",
    "°C",
    positive=False,
)
HUMIDITY = Field(
    "air.humidity",
    "relative humidity",
    "h",
    "h",
    Dimension.FRACTION,
    0.0,
    1.0,
    "A weather station nearby is good to about 10 %, which hardly matters in cool air.",
    "%",
    positive=False,
)
PRESSURE = Field(
    "air.pressure",
    "air pressure",
    "p",
    "p",
    Dimension.PRESSURE,
    30_000.0,
    110_000.0,
    "The pressure at the place itself, not reduced to sea level; it hardly matters.",
    "hPa",
)
CO2 = Field(
    "air.co2",
    "carbon dioxide",
    "x_c",
    r"x_\mathrm{c}",
    Dimension.FRACTION,
    0.0,
    0.01,
    "About 420 ppm outdoors, up to 2000 ppm in a crowded hall.",
    "ppm",
    positive=False,
)
WIND_ALONG = Field(
    "air.wind_along",
    "wind along the track",
    "w",
    "w",
    Dimension.SPEED,
    -40.0,
    40.0,
    "Positive when it blows from behind in the direction of travel. A ribbon on a stick shows "
    "the direction; better wait for a calm moment.",
    "m/s",
    positive=False,
)
WIND_ACROSS = Field(
    "air.wind_across",
    "wind across the track",
    "w_⊥",
    r"w_\perp",
    Dimension.SPEED,
    -40.0,
    40.0,
    "Either sign: it hardly changes the pitch, but it makes the microphone rumble.",
    "m/s",
    positive=False,
)
AIR = Section(
    "air",
    "Air",
    (Way("temperature", "air temperature", (TEMPERATURE,)),),
    (HUMIDITY, PRESSURE, CO2, WIND_ALONG, WIND_ACROSS),
)

MICROPHONE_DISTANCE = Field(
    "microphone.distance",
    "distance from microphone to track",
    "d",
    "d",
    Dimension.LENGTH,
    0.05,
    1000.0,
    "Tape from the microphone to where the source passes closest, at the height of the source.",
    "m",
)
MICROPHONE_POSITION = Field(
    "microphone.position",
    "position of the microphone along the track",
    "s",
    "s",
    Dimension.LENGTH,
    -10_000.0,
    10_000.0,
    "From the first marker in the direction of travel to the point straight in front of the "
    "microphone; negative if that point comes before the first marker.",
    "m",
    positive=False,
)
MICROPHONE = Section("microphone", "Microphone", (), (MICROPHONE_DISTANCE, MICROPHONE_POSITION))
