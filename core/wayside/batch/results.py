"""runs.csv and runs.json: the same bytes from the same recordings, whenever they are made.

Neither holds a time, a path of this computer, or anything that depends on the order in which
recordings were finished.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from wayside import __version__
from wayside.batch.keep import write_result
from wayside.batch.one import Task, options_as_pairs
from wayside.errors import InputError
from wayside.quantity import Quantity
from wayside.review.row import COMPARED, RunRow
from wayside.review.row_json import row_as_json
from wayside.review.summary import Summary, summary_by_group
from wayside.review.summary_json import summary_as_json

FORMAT, VERSION = "wayside-runs", 1
JSON_NAME, CSV_NAME = "runs.json", "runs.csv"

_LEAD = ("name", "group", "direction", "outcome", "setup", "overall")
_SIDES = ("predicted", "measured", "difference")
_TAIL = ("verdict", "sentence", "source_model", "method", "warnings")
_SINGLE = ("acceleration_mps2", "sound_speed_mps")
_FORMULA_STARTS = tuple("=+-@\t\r＝＋－＠")


def runs_as_json(tasks: Sequence[Task], rows: Sequence[RunRow], summary: Summary) -> dict[str, Any]:
    """Return the documented JSON values of a batch."""
    options = tasks[0].options
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": __version__,
        "options": {**dict(options_as_pairs(options)), "harmonic": tasks[0].harmonic},
        **summary_as_json(summary),
        "groups": {g: summary_as_json(s) for g, s in summary_by_group(rows).items()},
        "runs": [
            {**row_as_json(row), "setup": task.entry.setup_name or None}
            for task, row in zip(tasks, rows, strict=True)
        ],
    }


def json_text(values: dict[str, Any]) -> str:
    """Return JSON text that is the same on every system."""
    return json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def csv_text(tasks: Sequence[Task], rows: Sequence[RunRow]) -> str:
    """Return one line a run (RFC 4180), with a byte-order mark so that spreadsheets read UTF-8.

    Text that a spreadsheet would take for a formula is given a leading apostrophe.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(csv_head())
    for task, row in zip(tasks, rows, strict=True):
        cells: list[str] = [
            safe_cell(x)
            for x in (row.name, row.group, row.direction, row.outcome, task.entry.setup_name)
        ]
        cells.append(safe_cell(row.overall))
        for name in COMPARED:
            sides = row.sides(name)
            for key in _SIDES:
                cells += _cells(getattr(sides, key))
            cells += ["" if sides.e_n is None else _number(sides.e_n), safe_cell(sides.verdict)]
        for name in _SINGLE:
            cells += _cells(getattr(row, name))
        cells += [safe_cell(x) for x in (row.verdict, row.sentence, row.source_model, row.method)]
        cells.append(safe_cell(" | ".join(row.warnings)))
        writer.writerow(cells)
    return "\ufeff" + out.getvalue()


def csv_head() -> list[str]:
    """Return the names of the columns."""
    head = list(_LEAD)
    for name in COMPARED:
        for key in _SIDES:
            head += [f"{name}_{key}", f"{name}_{key}_u"]
        head += [f"{name}_e_n", f"{name}_verdict"]
    for name in _SINGLE:
        head += [name, f"{name}_u"]
    return [*head, *_TAIL]


def safe_cell(text: str) -> str:
    """Return text on one line that no spreadsheet takes for a formula."""
    line = " ".join(text.split("\n")).replace("\r", " ").replace("\0", "")
    return f"'{line}" if line.lstrip(" ").startswith(_FORMULA_STARTS) else line


def check_replaceable(out: Path) -> None:
    """Raise `InputError` if a file in the way is not the result of an earlier batch."""
    for name, mark in ((JSON_NAME, f'"format": "{FORMAT}"'), (CSV_NAME, ",".join(csv_head()[:6]))):
        path = out / name
        try:
            with open(path, "rb") as file:
                start = file.read(400).decode("utf-8", "replace")
        except FileNotFoundError:
            continue
        except OSError:
            start = ""
        if mark not in start:
            raise InputError(
                f"There is a {name} in “{out.absolute().name}” already that this program did not "
                "write; move it away or choose another folder with --out."
            )


def write_runs(
    out: Path, tasks: Sequence[Task], rows: Sequence[RunRow], summary: Summary
) -> dict[str, Any]:
    """Write runs.json and runs.csv, each whole or not at all, and return the JSON values.

    Raises
    ------
    InputError
        If one cannot be written; what was there before is then untouched.
    """
    values = runs_as_json(tasks, rows, summary)
    write_result(out / JSON_NAME, json_text(values))
    write_result(out / CSV_NAME, csv_text(tasks, rows))
    return values


def _cells(q: Quantity | None) -> list[str]:
    return ["", ""] if q is None else [_number(q.value), _number(q.u)]


def _number(value: float) -> str:
    return repr(float(value)) if math.isfinite(value) else ""
