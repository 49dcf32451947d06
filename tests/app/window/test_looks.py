"""Colours worked out: contrast after WCAG 2.2, and apartness for colour-blind eyes."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt
import pytest

from wayside_app.window.plot.ink import tones
from wayside_app.window.theme.looks import LOOKS, Look, rgb

Floats = npt.NDArray[np.float64]

# Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, severity 1,
# for linear RGB; from memory (the rows sum to 1, as they must to keep greys grey).
BLINDNESS = {
    "none": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}


def _linear(colour: str) -> Floats:
    """IEC 61966-2-1 (sRGB) to linear light, as WCAG 2.2 uses it."""
    c = np.array(rgb(colour)) / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    a, b = sorted((float(_linear(c) @ weights) for c in (one, other)), reverse=True)
    return (a + 0.05) / (b + 0.05)


def _lab(linear: Floats) -> Floats:
    """CIE 1976 L*a*b* with the D65 white of sRGB."""
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    xyz = to_xyz @ np.clip(linear, 0, 1) / np.array([0.9505, 1.0, 1.089])
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_contrast_formula_gives_21_for_black_on_white() -> None:
    # WCAG 2.2: contrast ratios range from 1 to 21
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_text_is_readable(look: Look) -> None:
    # WCAG 2.2, 1.4.3: 4.5 to 1; 1.4.6 (7 to 1) for high contrast
    least = 7.0 if look.name == "high contrast" else 4.5
    for ground in (look.card, look.field, look.page):
        assert contrast(look.text, ground) >= least
        assert contrast(look.quiet, ground) >= least
    inks = (look.hand, look.sound, look.agree, look.differ, look.unsure, look.fault)
    for ink in inks:
        assert contrast(ink, look.card) >= least
    # chosen rows and the main button: the card's colour on the sound's
    assert contrast(look.card, look.sound) >= least


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_curves_stand_out_from_the_paper_they_are_rimmed_with(look: Look) -> None:
    # WCAG 2.2, 1.4.11: 3 to 1 for marks
    assert contrast(look.hand, look.paper) >= 3.0
    assert contrast(look.sound, look.paper) >= 3.0
    assert contrast(look.focus, look.card) >= 3.0


@pytest.mark.parametrize("eye", BLINDNESS)
@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_hand_and_sound_differ_for_every_eye(look: Look, eye: str) -> None:
    pairs = itertools.combinations((look.hand, look.sound), 2)
    for one, other in pairs:
        seen = [_lab(BLINDNESS[eye] @ _linear(c)) for c in (one, other)]
        # 20 is about ten just noticeable differences (common practice, no source)
        assert np.linalg.norm(seen[0] - seen[1]) > 20.0


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_tones_run_evenly_from_paper_to_ink_without_hue(look: Look) -> None:
    table = tones(look, 60, 200)
    assert table.shape == (256, 3)
    assert table.dtype == np.uint8
    assert tuple(table[0]) == rgb(look.paper)
    assert tuple(table[255]) == rgb(look.ink)
    brightness = table.astype(float).sum(axis=1)
    steps = np.diff(brightness)
    assert np.all(steps >= 0) or np.all(steps <= 0)
    assert np.max(table.max(axis=1).astype(int) - table.min(axis=1)) <= 16
