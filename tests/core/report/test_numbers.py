"""Tables are read back by pandas and by the standard library, and hold what was measured."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.report.made import MADE, bundle, material, rows

from wayside.film.times import FrameTimes
from wayside.report.curves import plot_data
from wayside.report.figures.canvas import Figure
from wayside.report.material import Bundle, Made, frames_of
from wayside.report.numbers import FILES, figures_of, tables_of

FRAMES = FrameTimes(
    np.array([0, 300, 603, 897], dtype=np.int64),
    Fraction(1, 9000),
    np.array([True, False, False, False]),
)


def read(data: bytes) -> pd.DataFrame:
    return pd.read_csv(io.BytesIO(data), comment="#")


@pytest.fixture(scope="module")
def tables() -> dict[str, bytes]:
    return tables_of(Bundle(replace(material(), frames=FRAMES), rows(), made=MADE))


def test_every_table_begins_with_where_it_comes_from(tables: dict[str, bytes]) -> None:
    assert set(tables) == {
        "pitch_track.csv", "fit.csv", "expected.csv", "residuals.csv", "side_by_side.csv",
        "frames.csv", "class.csv",
    }  # fmt: skip
    assert set(tables) <= set(FILES)
    for data in tables.values():
        first = data.decode().split("\r\n")[0]
        assert first.startswith("# Wayside 0.1.0; recording pass.wav, SHA-256 0f0f")
        assert first.endswith("made by: wayside report pass.wav --setup setup.json -o out.html")


def test_columns_name_their_units(tables: dict[str, bytes]) -> None:
    for name in ("pitch_track.csv", "fit.csv", "expected.csv", "residuals.csv"):
        for column in read(tables[name]).columns:
            assert column.split("(")[-1].rstrip(")") in ("s", "Hz", "cents", "dB"), column


def test_pandas_reads_the_curves_back(tables: dict[str, bytes]) -> None:
    m = material()
    data = plot_data(m.measurement, m.prediction)
    for name, curve in (
        ("pitch_track", data.track),
        ("fit", data.fit),
        ("expected", data.expected),
    ):
        table = read(tables[f"{name}.csv"])
        assert np.allclose(table["time (s)"], curve.times_s, rtol=1e-11, atol=1e-11)
        assert np.allclose(table["pitch (Hz)"], curve.pitch_hz, rtol=1e-11)
        assert np.allclose(table["standard uncertainty (Hz)"], curve.u_hz, rtol=1e-11)
    residuals = read(tables["residuals.csv"])
    assert np.allclose(residuals["residual (cents)"], data.residual_cents, rtol=1e-10)


def test_pandas_reads_the_comparison_back(tables: dict[str, bytes]) -> None:
    c = material().comparison
    assert c is not None
    table = read(tables["side_by_side.csv"]).set_index("quantity")
    assert list(table.index) == [r.label for r in c.rows]
    for row in c.rows:
        line = table.loc[row.label]
        assert line["by hand (unit)"] == pytest.approx(row.predicted.value)
        assert line["standard uncertainty by sound (unit)"] == pytest.approx(row.measured.u)
        assert line["unit"] == row.measured.unit
        assert line["verdict"] == row.verdict


def test_frame_times_are_those_of_the_film(tables: dict[str, bytes]) -> None:
    table = read(tables["frames.csv"])
    # 300, 303 and 294 ticks of 1/9000 s
    assert np.allclose(table["time (s)"], [0.0, 300 / 9000, 603 / 9000, 897 / 9000])
    assert np.allclose(table["since last (ms)"][1:], [33.3333333333, 33.6666666667, 32.6666666667])
    assert np.isnan(table["since last (ms)"][0])


def test_the_standard_reader_gives_the_same(tables: dict[str, bytes]) -> None:
    lines = tables["fit.csv"].decode().split("\r\n")[1:]
    found = list(csv.reader(lines))
    assert found[0] == ["time (s)", "pitch (Hz)", "standard uncertainty (Hz)"]
    numbers = np.array([[float(x) for x in line] for line in found[1:] if line])
    assert np.allclose(numbers, read(tables["fit.csv"]).to_numpy())


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.one_of(
        st.text(max_size=30),
        st.sampled_from(
            ["=1+1", "+A1", "-A1", "@SUM(A1)", "\t=1", "a#b", '"; x', "two\nlines", " =1", "\r=1"]
        ),
    )
)
def test_no_name_becomes_a_formula_or_a_comment(name: str) -> None:
    shown = Bundle(replace(material(), picture=None), rows((name, "other"), name), made=MADE)
    data = tables_of(shown)["class.csv"]
    table = read(data)
    assert len(table) == 2
    lines = list(csv.reader(io.StringIO(data.decode(), newline="")))[1:]
    for line in lines:
        for cell in line[:5]:
            assert not cell.lstrip().startswith(("=", "+", "-", "@")), cell
            assert "\n" not in cell
    assert len({len(line) for line in lines if line}) == 1


def test_a_command_with_a_line_break_stays_in_the_comment() -> None:
    made = Made("wayside data 'a\r\nb.wav'")
    data = tables_of(Bundle(material(), made=made))["fit.csv"]
    assert data.split(b"\r\n")[1].startswith(b'"time (s)"')


def test_without_hand_measurements_the_results_by_sound_are_there() -> None:
    m = replace(material(), setup=None, prediction=None, comparison=None)
    found = tables_of(Bundle(m, made=MADE))
    assert "expected.csv" not in found
    table = read(found["by_sound.csv"]).set_index("quantity")
    assert table.loc["speed", "by sound (unit)"] == pytest.approx(9.2)
    assert table.loc["speed", "unit"] == "m/s"


def test_figures_bear_the_names_of_their_files() -> None:
    figures: tuple[Figure, ...] = figures_of(Bundle(material(), rows(), made=MADE))
    assert [f.name for f in figures] == ["spectrogram", "residuals", "track", "agreement", "class"]
    assert {f"{f.name}.svg" for f in figures} <= set(FILES)


def test_a_sound_file_has_no_frames() -> None:
    from pathlib import Path

    media = Path(__file__).resolve().parents[3] / "sample_media"
    assert frames_of(media / "courtyard-buzzer.flac") is None
    film = frames_of(media / "courtyard-film.mp4")
    assert film is not None
    assert len(film) > 100


def test_the_same_material_gives_the_same_tables() -> None:
    first = tables_of(bundle())
    material.cache_clear()
    assert tables_of(bundle()) == first
