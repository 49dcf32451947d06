"""What counts as audible, far, long enough and safe: every threshold with its source."""

from __future__ import annotations

import math

NOTICEABLE = 0.003
"""Relative pitch difference that is just noticed: about 0.3 %, OpenStax College Physics 17.6."""

CLEAR_STEPS = 8.0
"""Just-noticeable differences that make a drop obvious to a class (common practice, no source)."""

FAR_SHARE = 0.95
"""A pitch counts as far once the source moves 95 % straight towards or away."""

FAR_MULTIPLE = FAR_SHARE / math.sqrt(1.0 - FAR_SHARE**2)
"""Distance along the track, in closest distances, from which that holds (3.04)."""

READ_CYCLES = 5.0
"""Window length times pitch difference needed to tell the two pitches apart in a spectrum
(common practice, no source)."""

SHORTEST_READ_S = 0.3
"""Shortest stretch in which a pitch is judged by ear (common practice, no source)."""

SHORTEST_GLIDE_S = 0.3
"""Shortest glide that is heard as a glide, not a jump (common practice, no source)."""

RECORD_MULTIPLE = 5.0
"""Record from five closest distances before to five after."""

LOW_HZ = 100.0
"""Below this, phone microphones and small loudspeakers are weak (common practice, no source)."""

HIGH_HZ = 8000.0
"""Above this, pitch is hard to judge by ear (common practice, no source)."""
