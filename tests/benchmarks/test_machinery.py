"""The benchmarks' own machinery: the bound against closed forms, the rivals against theory."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize
from tests.benchmarks import cells, coverage, from_truth, near_bound, refusal, scenarios
from tests.benchmarks.cost import RATE_HZ, EndlessStore, long_recording
from tests.benchmarks.crb import PARAMETERS, Tone, bound, signal
from tests.benchmarks.curve_fit import fit_track, two_windows
from tests.benchmarks.harness import Kept, in_parallel, markdown, wilson
from tests.benchmarks.one_run import QUANTITIES, Outcome

from wayside.physics.passby import PassBy
from wayside.simulate.negatives import NEGATIVES
from wayside.simulate.render import render

PASS = Tone(300.0, 9.0, 2.0, 1.0, 343.0, (1.0, 0.5), (0.4, 1.1), 1.0)


def test_bound_of_a_still_tone_is_the_published_one() -> None:
    # var(f) >= 12 / ((2 pi)^2 eta N (N^2 - 1)) fs^2 with eta = A^2 / (2 s^2), phase and
    # amplitude unknown: Kay, Fundamentals of Statistical Signal Processing: Estimation Theory
    # (1993), equation 3.41; the same from Rife and Boorstyn, IEEE Trans. Inf. Theory 20 (1974)
    # 591, for a complex tone (both from memory).
    rate, n, amplitude, noise = 8000.0, 8000, 0.7, 0.3
    still = Tone(1000.0, 1e-6, 1000.0, 0.5, 343.0, (amplitude,), (0.3,), noise)
    eta = amplitude**2 / (2 * noise**2)
    published = rate * math.sqrt(12 / ((2 * math.pi) ** 2 * eta * n * (n * n - 1)))
    ours = bound(still, n / rate, rate, unknown=("source_hz",))["source_hz"]
    assert ours == pytest.approx(published, rel=1e-3)


def test_harmonics_add_their_information() -> None:
    # harmonic k carries k^2 the information on f0 (from the same formula, k f0 being estimated)
    def f0_bound(*amplitudes: float) -> float:
        phases = (0.2,) * len(amplitudes)
        still = Tone(500.0, 1e-6, 1000.0, 0.5, 343.0, amplitudes, phases, 0.1)
        return bound(still, 1.0, 8000.0, unknown=("source_hz",))["source_hz"]

    both = 1 / math.sqrt(1 / f0_bound(1.0) ** 2 + 4 * 0.25 / f0_bound(1.0) ** 2)
    assert f0_bound(1.0, 0.5) == pytest.approx(both, rel=1e-3)


def test_fits_from_the_truth_scatter_as_the_bound_says() -> None:
    # efficiency of maximum likelihood (Kay 1993, theorem 7.1) where the pass is neither brief
    # nor faint; 20 runs are within the 99.9 % interval of chi-squared, 0.53 to 1.51 for the root
    cell = cells.Cell(250.0, 5.0, 1.5, 1, 10.0)
    found = [from_truth.fit_from_truth((cell, seed)) for seed in range(20)]
    row = from_truth.row_of(cell, found, dict.fromkeys(near_bound.COLUMNS, ""))
    for name in ("v", "f0"):
        assert 0.53 < row[f"{name}: RMS / bound, from the truth"] < 1.51
    assert row["gross (%), from the truth"] == 0.0
    # half the energy over the noise density (Kay 1998, Detection Theory, 4.3), amplitude at the
    # closest point 1/r away from it: sum of A^2 g^2 / (2 s^2) with A^2 = 2 s^2 10^(TNR/10)
    p = cell.scene(0).sources[0].passby
    t = np.arange(round(cell.duration_s * cell.rate_hz)) / cell.rate_hz
    spread = (p.closest_m / p.distance(p.emission_time(t))) ** 2
    expected = 0.5 * 10 ** (cell.tnr_db / 10) * float(np.sum(spread))
    # decimation keeps the energy a sample and drops samples and noise alike
    assert row["evidence (nats)"] == pytest.approx(expected, rel=0.15)


def test_bound_is_reached_by_maximum_likelihood_from_the_truth() -> None:
    # efficiency of maximum likelihood (Kay 1993, theorem 7.1): an independent least-squares fit
    # with everything free must scatter as the bound says, within the scatter of 80 runs
    tone = Tone(300.0, 9.0, 2.0, 1.0, 343.0, (1.0, 0.5), (0.4, 1.1), 0.5)
    rate, length = 2000.0, 2.0
    t = np.arange(int(rate * length)) / rate
    limits = bound(tone, length, rate)
    clean = signal(tone, t)
    true = np.array([300.0, 9.0, 2.0, 1.0])
    scale = np.array([limits[name] for name in PARAMETERS])
    start = np.concatenate([np.zeros(4), tone.amplitudes, tone.phases])

    def model(p: np.ndarray) -> np.ndarray:
        f0, v, d, t0 = true + p[:4] * scale
        # the free amplitude takes up the reference distance
        moved = Tone(f0, v, d, t0, 343.0, tuple(p[4:6] * 2.0 / d), tuple(p[6:8]), 0.5)
        return signal(moved, t)

    rng = np.random.default_rng(8)
    found = []
    for _ in range(80):
        heard = clean + 0.5 * rng.standard_normal(len(t))
        fit = optimize.least_squares(lambda p, heard=heard: model(p) - heard, start)
        found.append(fit.x[:4])
    ratios = np.sqrt(np.mean(np.square(found), axis=0))
    assert np.all(np.abs(ratios - 1) < 0.25), ratios


def test_signal_of_the_bound_is_that_of_the_renderer() -> None:
    cell = cells.Cell(800.0, 11.0, 1.5, 1, 20.0)
    scene = cell.scene(1)
    quiet = scene.with_(background=type(scene.background)())
    heard = render(quiet, 1)[:, 0].astype(float)
    p = scene.sources[0].passby
    t = np.arange(len(heard)) / scene.rate_hz
    parts = [
        signal(
            Tone(800.0, 11.0, 1.5, p.passing_time_s, 343.2, (1.0,), (phase,), 1.0),
            t,
        )
        for phase in (0.0, math.pi / 2)
    ]
    weights, *_ = np.linalg.lstsq(np.column_stack(parts), heard, rcond=None)
    assert np.allclose(np.column_stack(parts) @ weights, heard, atol=1e-6)
    assert np.hypot(*weights) == pytest.approx(0.1 * math.sqrt(2), rel=1e-5)


def test_grid_takes_every_level_and_keeps_its_promise() -> None:
    some = cells.some_cells(40)
    assert len(cells.all_cells()) == 1200
    for name, levels in (
        ("source_hz", cells.SOURCE_HZ),
        ("speed_mps", cells.SPEED_MPS),
        ("closest_m", cells.CLOSEST_M),
        ("n_harmonics", cells.HARMONICS),
        ("tnr_db", cells.TNR_DB),
    ):
        assert {getattr(c, name) for c in some} == set(levels)
    for cell in some:
        scene = cell.scene(3)
        p = scene.sources[0].passby
        heard = p.passing_time_s + p.closest_m / p.sound_speed_mps
        reach = min(heard, scene.duration_s - heard)
        assert reach >= 4 * p.closest_m / p.speed_mps * 0.999
        assert scene.duration_s >= 3
        assert cell.n_harmonics * p.approach_hz < scene.rate_hz / 2


def test_curve_fit_is_exact_on_an_exact_track() -> None:
    p = PassBy(400.0, 8.0, 2.0, 2.0, 343.0)
    t = np.linspace(0, 4, 200)
    answer = fit_track(t, p.pitch(t), 343.0)
    assert answer == pytest.approx((8.0, 400.0), rel=1e-6)
    assert fit_track(t, np.full(200, np.nan), 343.0) is None


def test_two_windows_read_the_speed_low() -> None:
    # the pitch at a finite distance falls short of its limit, so the speed comes out low by
    # about d^2/(2 v^2 t^2) of itself (elementary expansion of x / sqrt(x^2 + d^2))
    cell = cells.Cell(800.0, 11.0, 1.5, 1, 20.0)
    scene = cell.scene(2)
    v, _ = two_windows(render(scene, 2)[:, 0].astype(float), scene.rate_hz, (600, 1000), 343.2)
    far = scene.duration_s / 2 * 0.75
    low = 1.5**2 / (2 * 11.0**2 * far**2)
    assert 1 - v / 11.0 == pytest.approx(low, abs=0.01)
    assert v < 11.0


def test_wilson_interval() -> None:
    # 0 of n: upper end z^2 / (n + z^2), from the formula of Wilson (1927) at p = 0
    low, high = wilson(0, 10)
    assert low == pytest.approx(0, abs=1e-12)
    assert high == pytest.approx(1.96**2 / (10 + 1.96**2))


def test_rows_are_kept_and_a_run_can_go_on(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "x.csv", ("name", "runs", "value"))
    kept.keep({"name": "a", "runs": 5, "value": 0.25})
    kept.keep({"name": "b", "runs": 5, "value": math.nan})
    again = Kept(tmp_path / "x.csv", ("name", "runs", "value"))
    assert again.rows["a"] == {"name": "a", "runs": 5, "value": 0.25}
    assert again.rows["b"]["value"] is None
    assert again.has("a", 5)
    assert not again.has("a", 6)
    assert markdown(("name", "value"), list(again.rows.values())).count("\n") == 4


def test_work_is_numbered_in_parallel() -> None:
    assert dict(in_parallel(math.sqrt, [1.0, 4.0, 9.0], 1)) == {0: 1.0, 1: 2.0, 2: 3.0}


def _outcome(error: float, u: float, found: bool = True) -> Outcome:
    both = dict.fromkeys(QUANTITIES, error), dict.fromkeys(QUANTITIES, u)
    within = dict.fromkeys(QUANTITIES, (abs(error) <= u, abs(error) <= 1.96 * u))
    return Outcome(found, *both, 0.1, "", within) if found else Outcome(False, {}, {}, 0.1)


def test_near_bound_row_counts_gross_failures_apart() -> None:
    cell = cells.Cell(800.0, 11.0, 1.5, 1, -10.0)
    limit = cell.bound()["speed_mps"]
    outcomes = [_outcome(limit, limit)] * 8 + [_outcome(5.0, limit), _outcome(0, 0, found=False)]
    row = near_bound.row_of(cell, outcomes)
    assert row["v: RMS / bound"] == pytest.approx(1.0)
    assert row["gross (%)"] == pytest.approx(20.0)
    assert row["not found (%)"] == pytest.approx(10.0)
    assert "gross" in row["verdict"]
    assert near_bound.verdict({**row, "gross (%)": 0.0, "f0: RMS / bound": 1.0}, -10) == "good"
    assert near_bound.verdict({**row, "bound of v (%)": 3.0}, -10) == "not counted"


def test_coverage_row_of_normal_errors_is_good_and_of_narrow_ones_is_not() -> None:
    rng = np.random.default_rng(6)
    fair = [_outcome(float(e), 1.0) for e in rng.standard_normal(1000)]
    assert {r["verdict"] for r in coverage.rows_of("x", fair)} == {"good"}
    boastful = [_outcome(float(e), 0.5) for e in rng.standard_normal(1000)]
    assert all("68 %" in r["verdict"] for r in coverage.rows_of("x", boastful))
    biased = [_outcome(float(e) + 0.5, 1.0) for e in rng.standard_normal(1000)]
    assert all("bias" in r["verdict"] for r in coverage.rows_of("x", biased))


def test_a_miss_is_beyond_chance_only_where_enough_runs_show_it() -> None:
    # Wilson's 95 % interval of 80 % is 62.7 to 90.5 % for 30 runs, 77.4 to 82.4 % for 1,000, and
    # of 89 % for 200 runs 83.9 to 92.6 % (by its closed form)
    row: dict[str, float | str | None] = {
        "found (%)": 100.0,
        "in 68 % interval (%)": 80.0,
        "in 95 % interval (%)": 95.0,
        "bias / u": 0.4,
    }
    assert coverage.beyond_chance({**row, "runs": 30}) == ""
    assert coverage.beyond_chance({**row, "runs": 1000}) == "68 %"
    # the median of 10,000 scatters by 0.0125
    assert coverage.beyond_chance({**row, "runs": 10_000}) == "68 %, bias"
    narrow = {**row, "runs": 200, "in 68 % interval (%)": 68.0, "in 95 % interval (%)": 89.0}
    assert coverage.beyond_chance(narrow) == "95 %"


@pytest.mark.parametrize("condition", scenarios.CONDITIONS)
def test_every_condition_can_be_drawn_and_recorded(condition: str) -> None:
    run = scenarios.drawn(condition, 1)
    assert run == scenarios.drawn(condition, 1)
    recording = scenarios.record(run, 1)
    assert recording.duration_s >= 3
    truth = scenarios.truth(run, 1)
    assert truth.speed_mps == pytest.approx(run.scene.sources[0].passby.speed_mps, rel=0.05)
    told = run.options.closest
    assert told is None or abs(told.value - truth.closest_m) < 5 * told.u


def test_refusal_takes_turns_through_every_kind() -> None:
    assert {kind for kind, _ in refusal.items(len(NEGATIVES))} == set(NEGATIVES)
    assert len(set(refusal.items(2000))) == 2000


def test_endless_recording_reads_the_same_however_it_is_cut() -> None:
    recording = long_recording(60.0)
    whole = recording.read(0, recording.n_samples)
    cut = int(17.3 * RATE_HZ)
    parts = [recording.read(0, cut), recording.read(cut, recording.n_samples)]
    assert np.array_equal(np.concatenate(parts), whole)
    middle = whole[len(whole) // 2 - 1000 : len(whole) // 2 + 1000]
    assert middle.std() > 2 * whole[: int(RATE_HZ)].std()
    assert isinstance(recording.store, EndlessStore)
