"""The numbers behind the plots as tables for a spreadsheet or a notebook (RFC 4180).

The first line is a comment that says where the numbers come from; ``pandas.read_csv(path,
comment="#")`` passes over it. Units stand in the headings.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

from wayside import __version__
from wayside.batch.results import safe_cell
from wayside.compare.result import Comparison
from wayside.film.times import FrameTimes
from wayside.measure.result import FITTED, Measurement
from wayside.quantity import Quantity
from wayside.report.contents.by_sound import readings_of
from wayside.report.curves import Curve, plot_data
from wayside.report.figures.agreement import agreement_figure
from wayside.report.figures.canvas import Figure
from wayside.report.figures.class_speeds import class_figure
from wayside.report.figures.residuals import residuals_figure
from wayside.report.figures.spectrogram import spectrogram_figure
from wayside.report.figures.track import track_figure
from wayside.report.material import Bundle
from wayside.report.text import one_line
from wayside.review.row import RunRow
from wayside.review.together import pool_measured

Cell = str | float | int | None

_TABLES = (
    "pitch_track", "fit", "expected", "residuals", "side_by_side", "by_sound", "frames", "class",
)  # fmt: skip
_NOTHING = 1e-12
_FIGURES = ("spectrogram", "residuals", "track", "agreement", "class")
FILES = (
    *(f"{name}.csv" for name in _TABLES),
    *(f"{name}{suffix}" for name in _FIGURES for suffix in (".svg", ".png")),
)
"""Every file that may be written."""

_CURVE = ("time (s)", "pitch (Hz)", "standard uncertainty (Hz)")


def tables_of(bundle: Bundle) -> dict[str, bytes]:
    """Return the tables by file name, only those that have something in them."""
    m = bundle.run
    data = plot_data(m.measurement, m.prediction)
    found: dict[str, bytes] = {}

    def put(name: str, head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
        lines = list(rows)
        if lines:
            found[name] = _csv(bundle, head, lines)

    put("pitch_track.csv", (*_CURVE, "level (dB)"), _track(m.measurement))
    put("fit.csv", _CURVE, _rows(data.fit))
    put("expected.csv", _CURVE, _rows(data.expected))
    put(
        "residuals.csv",
        ("time (s)", "residual (cents)", "standard uncertainty (cents)"),
        zip(
            data.residual_times_s.tolist(),
            data.residual_cents.tolist(),
            data.residual_u_cents.tolist(),
            strict=True,
        ),
    )
    if m.comparison is not None:
        put("side_by_side.csv", *_side_by_side(m.comparison))
    elif m.measurement is not None and m.measurement.fit is not None:
        put("by_sound.csv", *_by_sound(m.measurement))
    if m.frames is not None:
        put("frames.csv", ("frame", "time (s)", "since last (ms)"), _frames(m.frames))
    put("class.csv", *_class(bundle.rows))
    return found


def figures_of(bundle: Bundle) -> tuple[Figure, ...]:
    """Return the figures, named as their files are."""
    m = bundle.run
    data = plot_data(m.measurement, m.prediction)
    found: list[Figure | None] = []
    if m.picture is not None:
        r = m.picture.request
        windows = readings_of(m.measurement)
        found += [
            spectrogram_figure(m.picture, data, windows, m.crossings),
            residuals_figure(data, (r.start_s, r.stop_s)),
        ]
    if m.setup is not None:
        heard = None if m.closest_used else m.measurement
        fit = heard.fit if heard is not None else None
        found.append(track_figure(m.setup, fit.closest_m if fit is not None else None))
    if m.comparison is not None:
        found.append(agreement_figure(m.comparison.rows))
    if bundle.rows:
        speed = pool_measured(bundle.rows, "speed_mps")
        found.append(class_figure(bundle.rows, None if speed is None else speed.pooled.mean))
    return tuple(f for f in found if f is not None)


def _csv(bundle: Bundle, head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    out = io.StringIO(newline="")
    out.write(f"# {_provenance(bundle)}\r\n")
    # text is quoted, so that a # within it starts no comment
    writer = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(cell) for cell in row])
    return out.getvalue().encode()


def _provenance(bundle: Bundle) -> str:
    parts = [f"Wayside {__version__}"]
    m = bundle.run
    if m.media is not None:
        parts.append(f"recording {Path(m.media.path).name}, SHA-256 {m.media.sha256}")
    if bundle.made.command:
        parts.append(f"made by: {bundle.made.command}")
    return one_line("; ".join(parts))


def _cell(cell: Cell) -> Cell:
    if isinstance(cell, str):
        return safe_cell(one_line(cell))
    if cell is None or not math.isfinite(cell):
        return None
    if isinstance(cell, int):
        return cell
    # twelve digits are far more than any uncertainty here, and hide the last bits' noise
    return float(f"{cell:.12g}") if abs(cell) > _NOTHING else 0.0


def _track(m: Measurement | None) -> Iterable[Sequence[Cell]]:
    track = m.track if m is not None else None
    if track is None:
        return ()
    columns = (track.times_s, track.pitch_hz, track.u_hz, track.level_db)
    return zip(*(c.tolist() for c in columns), strict=True)


def _rows(curve: Curve) -> Iterable[Sequence[Cell]]:
    columns = (curve.times_s, curve.pitch_hz, curve.u_hz)
    return zip(*(c.tolist() for c in columns), strict=True)


def _frames(frames: FrameTimes) -> Iterable[Sequence[Cell]]:
    steps = [None, *(1e3 * frames.steps_s).tolist()]
    return zip(range(len(frames)), frames.seconds.tolist(), steps, strict=True)


def _side_by_side(c: Comparison) -> tuple[Sequence[str], list[Sequence[Cell]]]:
    head = ["quantity", "unit"]
    for side in ("by hand", "by sound", "difference"):
        head += [f"{side} (unit)", f"standard uncertainty {side} (unit)"]
    head += ["difference (%)", "difference (cents)", "normalized error (1)", "verdict"]
    rows: list[Sequence[Cell]] = []
    for r in c.rows:
        sides = [x for q in (r.predicted, r.measured, r.difference) for x in (q.value, q.u)]
        rows.append((r.label, r.predicted.unit, *sides, r.percent, r.cents, r.e_n, r.verdict))
    return head, rows


def _by_sound(m: Measurement) -> tuple[Sequence[str], list[Sequence[Cell]]]:
    assert m.fit is not None
    rows: list[Sequence[Cell]] = []
    for name, label in FITTED:
        q: Quantity = getattr(m.fit, name)
        likely = m.fit.likely(name)
        ends = likely.ends.values() if likely is not None else (None,) * 4
        rows.append((label, q.unit, q.value, q.u, *ends))
    head = ["quantity", "unit", "by sound (unit)", "standard uncertainty (unit)"]
    for share in ("68", "95"):
        head += [f"{share} % from (unit)", f"{share} % to (unit)"]
    return head, rows


def _class(rows: Sequence[RunRow]) -> tuple[Sequence[str], list[Sequence[Cell]]]:
    head = ["run", "group", "direction", "outcome", "verdict"]
    names = (("speed_mps", "speed", "m/s"), ("source_hz", "source pitch", "Hz"))
    for _, label, unit in names:
        for side in ("by hand", "by sound"):
            head += [f"{label} {side} ({unit})", f"standard uncertainty ({unit}) {side} {label}"]
    head.append("normalized error of the speed (1)")
    lines: list[Sequence[Cell]] = []
    for r in rows:
        cells: list[Cell] = [r.name, r.group, r.direction, r.outcome, r.overall]
        for name, _, _ in names:
            for q in (r.sides(name).predicted, r.sides(name).measured):
                cells += [None, None] if q is None else [q.value, q.u]
        cells.append(r.speed_mps.e_n)
        lines.append(cells)
    return head, lines
