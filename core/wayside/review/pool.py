"""Several runs of one quantity: their mean, whether they agree, and how far they scatter.

Weighted mean ``sum(w x)/sum(w)``, ``w = 1/(u^2 + tau^2)``, with the scatter between runs tau
chosen so that the weighted sum of squares equals its expectation n - 1 (Mandel and Paule,
*Anal. Chem.* 42 (1970) 1194; Paule and Mandel, *J. Res. NBS* 87 (1982) 377). Consistency by
chi-square and by the Birge ratio ``sqrt(chi^2/(n - 1))`` (Birge, *Phys. Rev.* 40 (1932) 207).
A part of the uncertainty that all runs share is put on the mean whole: no number of runs
averages it away. See docs/theory/many-runs.md.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import chdtrc, chdtri, ndtri, stdtrit

from wayside.errors import InputError
from wayside.hand.entry import effective_dof
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]

CONSISTENT = 0.05
"""Chi-square probability below which runs are said to scatter (Cox, Metrologia 39 (2002) 589)."""


@dataclass(frozen=True)
class Pooled:
    """What several runs say together.

    Parameters
    ----------
    n : int
        How many runs.
    mean : Quantity
        Mean with its standard uncertainty: own uncertainties, scatter between runs and what
        all runs share.
    dof : float
        Effective degrees of freedom of that uncertainty; inf where the runs do not scatter.
    low, high : float
        95 % interval of the mean.
    weighted : Quantity
        Plain weighted mean with its internal uncertainty ``1/sqrt(sum(1/u^2))``, shared part
        left out.
    external_u : float
        Its external uncertainty, the internal one times the Birge ratio; NaN for one run.
    chi_square, p_value, birge : float
        Of the runs about the weighted mean, with n - 1 degrees of freedom; NaN for one run.
    scatter : float
        Standard deviation between runs beyond their own uncertainties (0 where none shows).
    scatter_high : float
        What it may be at most, one-sided 97.5 %; inf for one run.
    shared_u : float
        Standard uncertainty of the mean that comes from causes all runs share.
    shared : mapping of str to float
        By cause, signed.
    weights : tuple of float
        Of the runs in `mean`, adding up to 1.
    """

    n: int
    mean: Quantity
    dof: float
    low: float
    high: float
    weighted: Quantity
    external_u: float
    chi_square: float
    p_value: float
    birge: float
    scatter: float
    scatter_high: float
    shared_u: float
    shared: Mapping[str, float] = field(default_factory=dict)
    weights: tuple[float, ...] = ()

    @property
    def consistent(self) -> bool:
        """Whether the runs agree within their own uncertainties."""
        return not self.p_value < CONSISTENT


def pool(values: Sequence[Quantity], shared: Mapping[str, Sequence[float]] | None = None) -> Pooled:
    """Return what several values of one quantity say together.

    Parameters
    ----------
    values : sequence of Quantity
        One a run, in one unit.
    shared : mapping of str to sequence of float, optional
        For each cause that all runs share (a thermometer, a tape), its signed part in the
        standard uncertainty of each value, in the unit of the values.

    Raises
    ------
    InputError
        If there is no value, one is not finite, units differ, or a value has no uncertainty
        of its own.

    Notes
    -----
    Weights follow own uncertainties only. Putting a relative error that all runs share into
    the weights as well would draw the mean towards the small values (Peelle's puzzle; see
    D'Agostini, *Nucl. Instrum. Meth.* A 346 (1994) 306).
    """
    shared = dict(shared or {})
    x, u = _checked(values, shared)
    n = x.size
    inner = 1.0 / float(np.sqrt(np.sum(u**-2.0)))
    plain = _mean(x, u, 0.0)
    chi_square = _excess(x, u, 0.0) if n > 1 else math.nan
    birge = math.sqrt(chi_square / (n - 1)) if n > 1 else math.nan
    tau = _solve(x, u, n - 1.0) if n > 1 else 0.0
    weights = _weights(u, tau)
    mean = float(weights @ x)
    own_u = float(np.sqrt(1.0 / np.sum(1.0 / (u * u + tau * tau))))
    by_cause = {cause: float(weights @ np.asarray(parts)) for cause, parts in shared.items()}
    shared_u = math.hypot(*by_cause.values()) if by_cause else 0.0
    total = math.hypot(own_u, shared_u)
    dof = effective_dof([(own_u, n - 1.0), (shared_u, math.inf)]) if tau > 0 else math.inf
    k = float(stdtrit(dof, 0.975)) if math.isfinite(dof) else float(ndtri(0.975))
    unit = values[0].unit
    return Pooled(
        n=n,
        mean=Quantity(mean, total, unit),
        dof=dof,
        low=mean - k * total,
        high=mean + k * total,
        weighted=Quantity(plain, inner, unit),
        external_u=inner * birge,
        chi_square=chi_square,
        p_value=float(chdtrc(n - 1, chi_square)) if n > 1 else math.nan,
        birge=birge,
        scatter=tau,
        scatter_high=_solve(x, u, float(chdtri(n - 1, 0.975))) if n > 1 else math.inf,
        shared_u=shared_u,
        shared=by_cause,
        weights=tuple(float(w) for w in weights),
    )


def own_uncertainty(value: Quantity, parts: Sequence[float]) -> float:
    """Return what is left of a standard uncertainty without the given parts (0 at least)."""
    return math.sqrt(max(0.0, value.u**2 - sum(p * p for p in parts)))


def _checked(
    values: Sequence[Quantity], shared: Mapping[str, Sequence[float]]
) -> tuple[FloatArray, FloatArray]:
    if not values:
        raise InputError("There is no run to take the mean of; give at least one.")
    if len({q.unit for q in values}) > 1:
        raise InputError("The runs do not give one quantity in one unit; take like with like.")
    if any(len(parts) != len(values) for parts in shared.values()):
        raise InputError("A shared part must be given for every run.")
    own = [
        own_uncertainty(q, [parts[i] for parts in shared.values()]) for i, q in enumerate(values)
    ]
    for q, u in zip(values, own, strict=True):
        if not (math.isfinite(q.value) and math.isfinite(q.u)):
            raise InputError(f"A run gives {q}, which cannot be averaged; leave that run out.")
        # what is left after subtracting a part as large as the whole is rounding, no knowledge
        if u <= 1e-7 * q.u or u == 0.0:
            raise InputError(
                f"A run gives {q.value:g} {q.unit} without any uncertainty of its own, so it "
                "cannot be weighed against the others; leave that run out."
            )
    return np.array([q.value for q in values]), np.array(own)


def _weights(u: FloatArray, tau: float) -> FloatArray:
    least = float(np.min(u * u + tau * tau))
    w = least / (u * u + tau * tau)
    return np.asarray(w / np.sum(w), dtype=np.float64)


def _mean(x: FloatArray, u: FloatArray, tau: float) -> float:
    return float(_weights(u, tau) @ x)


def _excess(x: FloatArray, u: FloatArray, tau: float) -> float:
    """Weighted sum of squares about the weighted mean; falls steadily as tau grows."""
    return float(np.sum((x - _mean(x, u, tau)) ** 2 / (u * u + tau * tau)))


def _solve(x: FloatArray, u: FloatArray, target: float) -> float:
    """Return the tau at which the weighted sum of squares is `target`, or 0 if it is below.

    With n - 1 this is Mandel and Paule's estimate; with a quantile of chi-square it is a
    confidence limit (Viechtbauer, *Statist. Med.* 26 (2007) 37).
    """
    if _excess(x, u, 0.0) <= target or target <= 0.0:
        return 0.0
    # no weighted mean leaves more than the plain one, whose sum of squares bounds tau
    most = math.sqrt(float(np.sum((x - x.mean()) ** 2)) / target)
    return float(
        brentq(lambda tau: _excess(x, u, tau) - target, 0.0, 1.0001 * most, xtol=1e-12 * most)
    )
