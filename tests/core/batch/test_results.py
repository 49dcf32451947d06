"""runs.csv and runs.json: safe in a spreadsheet, read back without loss."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.review.runs import buzzer, measured, refused

from wayside.batch.folder import Entry
from wayside.batch.keep import FOLDER, keep, kept, prepare
from wayside.batch.one import Task
from wayside.batch.results import (
    CSV_NAME,
    JSON_NAME,
    check_replaceable,
    csv_head,
    csv_text,
    json_text,
    runs_as_json,
    safe_cell,
    write_runs,
)
from wayside.compare.compare import compare
from wayside.errors import InputError
from wayside.measure.options import MeasureOptions
from wayside.quantity import Quantity
from wayside.review.row import RunRow, failed_row, run_row
from wayside.review.row_json import row_as_json, row_from_json
from wayside.review.summary import direction_of, summary_of
from wayside.review.summary_text import summary_as_text


def _task(name: str) -> Task:
    return Task(Entry(Path(name), name, "", "", None, ""), MeasureOptions())


def _row(name: str, speed: float = 6.0, way: str = "", source: float = 500.0) -> RunRow:
    m = measured(source, speed)
    return run_row(name, m, comparison=compare(buzzer(), m), direction=way)


ROWS = [
    _row("lane-out.wav", 6.0, "out", 499.95),
    _row("lane-back.wav", 6.2, "back", 500.05),
    run_row("wind.wav", refused()),
    failed_row("=cmd.wav", "“=cmd.wav” is empty."),
]
TASKS = [_task(r.name) for r in ROWS]


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.name)
def test_a_row_comes_back_from_json(row: RunRow) -> None:
    assert row_from_json(json.loads(json.dumps(row_as_json(row), allow_nan=False))) == row


def test_what_is_not_known_comes_back_as_not_known() -> None:
    m = measured(u_own_mps=math.inf)
    back = row_from_json(json.loads(json.dumps(row_as_json(run_row("a", m)), allow_nan=False)))
    assert back.speed_mps.measured == Quantity(6.0, math.inf, "m/s")


@pytest.mark.parametrize("data", [None, {}, [], {"name": "a", "outcome": "odd"}, "row"])
def test_what_is_no_row_is_refused(data: object) -> None:
    with pytest.raises(InputError):
        row_from_json(data)


def test_json_is_whole_and_strict() -> None:
    values = runs_as_json(TASKS, ROWS, summary_of(ROWS))
    back = json.loads(json_text(values))
    assert back["format"] == "wayside-runs"
    assert back["counts"] == {"measured": 2, "refused": 1, "failed": 1}
    assert back["means"]["speed_mps"]["runs"] == ["lane-out.wav", "lane-back.wav"]
    (pair,) = back["wind_pairs"]
    assert (pair["out"], pair["back"]) == ("lane-out.wav", "lane-back.wav")
    assert pair["wind_mps"]["value"] > 0


def test_groups_are_told_apart() -> None:
    rows = [
        replace(_row(f"{g}/{i}.wav", v), group=g) for g, v in (("a", 6.0), ("b", 9.0)) for i in "12"
    ]
    values = runs_as_json([_task(r.name) for r in rows], rows, summary_of(rows))
    assert {g: s["means"]["speed_mps"]["mean"]["value"] for g, s in values["groups"].items()} == {
        "a": pytest.approx(6.0, rel=5e-3),
        "b": pytest.approx(9.0, rel=5e-3),
    }
    assert "“a”" in summary_as_text(rows, summary_of(rows))
    assert runs_as_json(TASKS, ROWS, summary_of(ROWS))["groups"] == {}


def test_csv_reads_back_as_written() -> None:
    text = csv_text(TASKS, ROWS)
    assert text.startswith("\ufeff")
    lines = list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    assert [line["name"] for line in lines] == [
        "lane-out.wav",
        "lane-back.wav",
        "wind.wav",
        "'=cmd.wav",
    ]
    speed = ROWS[0].speed_mps
    assert speed.measured is not None
    assert float(lines[0]["speed_mps_measured"]) == speed.measured.value
    assert float(lines[0]["speed_mps_measured_u"]) == speed.measured.u
    assert lines[2]["speed_mps_measured"] == ""
    assert "empty" in lines[3]["sentence"]
    # negative numbers stay numbers
    assert speed.difference is not None
    assert float(lines[0]["speed_mps_difference"]) == speed.difference.value


@settings(max_examples=100)
@given(st.text(max_size=30))
def test_no_cell_is_a_formula_or_a_second_line(text: str) -> None:
    # what spreadsheets take for a formula: OWASP, "CSV injection" (memory)
    cell = safe_cell(text)
    assert not cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r"))
    assert "\n" not in cell
    assert "\r" not in cell


@pytest.mark.parametrize(
    "text", ['=HYPERLINK("x")', "+1", "-1+2", "@SUM(A1)", "  =1", "\t=1", "＝1"]
)
def test_formulas_are_made_text(text: str) -> None:
    assert safe_cell(text).startswith("'")
    assert safe_cell(text).endswith(text.strip()[-1])


def test_every_line_has_every_column() -> None:
    lines = list(csv.reader(io.StringIO(csv_text(TASKS, ROWS), newline="")))
    assert {len(line) for line in lines} == {len(csv_head())}
    assert len(set(csv_head())) == len(csv_head())


def test_writing_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    contents = []
    for _ in range(2):
        write_runs(tmp_path, TASKS, ROWS, summary_of(ROWS))
        check_replaceable(tmp_path)
        contents.append([(tmp_path / n).read_bytes() for n in (JSON_NAME, CSV_NAME)])
    assert contents[0] == contents[1]


@pytest.mark.parametrize("name", [JSON_NAME, CSV_NAME])
def test_somebody_elses_file_is_not_replaced(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("runner,lap\n1,63.2\n")
    with pytest.raises(InputError, match="did not write"):
        check_replaceable(tmp_path)


def test_a_full_disk_gets_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_runs(tmp_path, TASKS, ROWS, summary_of(ROWS))
    before = (tmp_path / JSON_NAME).read_bytes()

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("wayside.files.os.fsync", full)
    with pytest.raises(InputError, match="no space left on device"):
        write_runs(tmp_path, TASKS[:1], ROWS[:1], summary_of(ROWS[:1]))
    with pytest.raises(InputError, match="--out"):
        prepare(tmp_path)
    assert (tmp_path / JSON_NAME).read_bytes() == before
    assert not list(tmp_path.glob("*.part"))


def test_a_folder_that_cannot_be_made_gets_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(InputError, match="cannot be written"):
        prepare(tmp_path / "file" / "out")


def test_a_read_only_folder_gets_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read_only(**named: object) -> tuple[int, str]:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr("wayside.files.tempfile.mkstemp", read_only)
    with pytest.raises(InputError, match="read-only file system"):
        prepare(tmp_path)


def test_kept_rows_come_back_and_failures_are_not_kept(tmp_path: Path) -> None:
    prepare(tmp_path)
    keep(tmp_path, "one", ROWS[0])
    keep(tmp_path, "four", ROWS[3])
    assert kept(tmp_path, "one") == ROWS[0]
    assert kept(tmp_path, "four") is None
    (tmp_path / FOLDER / "one.json").write_text('{"name": "half of')
    assert kept(tmp_path, "one") is None


@pytest.mark.parametrize(
    ("stem", "way"),
    [
        ("lane-out", ("out", "lane")),
        ("lane 3_Back", ("back", "lane 3")),
        ("out", ("out", "")),
        ("playback", ("", "playback")),
        ("outing", ("", "outing")),
        ("out 2", ("", "out 2")),
    ],
)
def test_the_end_of_a_name_tells_the_way(stem: str, way: tuple[str, str]) -> None:
    assert direction_of(stem) == way


def test_the_text_tells_everything_once() -> None:
    text = summary_as_text(ROWS, summary_of(ROWS))
    for words in ("No pass-by found", "Could not be measured", "Out and back", "cannot be told"):
        assert words in text
    assert "nan" not in text


def test_runs_that_have_nothing_in_common_get_no_mean_in_words() -> None:
    rows = [_row("a", source=200.0), _row("b", source=900.0)]
    (sentence,) = (t.sentence for t in summary_of(rows).means if t.name == "source_hz")
    assert "too far apart" in sentence
