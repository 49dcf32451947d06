"""The normalised error, interval in cents and tyre sizes against their published definitions."""

from __future__ import annotations

import math

import pytest

from wayside.compare.rows import expansion, row
from wayside.hand.propagate import cents, uncertain
from wayside.hand.sources.wheel import radius


@pytest.mark.parametrize(
    ("x", "u_x", "reference", "u_reference"),
    [(441.3, 0.4, 440.0, 0.3), (9.41, 0.05, 9.70, 0.12), (100.0, 1.0, 100.0, 1.0)],
)
def test_normalised_error(x: float, u_x: float, reference: float, u_reference: float) -> None:
    """ISO 13528 / ISO/IEC 17043: E_n = (x - X)/sqrt(U_x^2 + U_X^2), expanded with k = 2."""
    line = row("approach_hz", uncertain(reference, u_reference, "a"), uncertain(x, u_x, "b"), False)
    e_n = (x - reference) / math.sqrt((2 * u_x) ** 2 + (2 * u_reference) ** 2)
    assert line.e_n == pytest.approx(e_n, rel=1e-12)
    assert line.verdict == ("agree" if abs(e_n) <= 1 else "disagree")


@pytest.mark.parametrize(
    ("dof", "k"), [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (10, 2.28), (20, 2.13), (50, 2.05)]
)
def test_expansion_after_few_repeats(dof: int, k: float) -> None:
    """JCGM 100:2008, table G.2, 95.45 % column (memory; recomputed)."""
    assert expansion(dof) == pytest.approx(k, abs=0.006)
    assert expansion(math.inf) == 2.0


@pytest.mark.parametrize(("ratio", "interval"), [(2.0, 1200.0), (2.0 ** (1 / 12), 100.0)])
def test_cents(ratio: float, interval: float) -> None:
    """1200 cents to the octave, 100 to the equal semitone: by definition."""
    assert cents(ratio) == pytest.approx(interval, rel=1e-12)


@pytest.mark.parametrize(
    ("bead_mm", "width_mm", "nominal_in"), [(559, 47, 26), (559, 54, 26), (622, 40, 28)]
)
def test_marked_tyre_sizes(bead_mm: float, width_mm: float, nominal_in: float) -> None:
    """ISO 5775-2 (memory): 559 mm is the rim of decimal 26 in tyres, 622 mm of 700C (28 in).

    The marked size gives the nominal diameter within half an inch.
    """
    x = {
        "source.bead_diameter": bead_mm / 1000,
        "source.tyre_width": width_mm / 1000,
        "source.squash": 0.0,
    }
    assert 2 * radius(x, "marked-size") / 0.0254 == pytest.approx(nominal_in, abs=0.5)
