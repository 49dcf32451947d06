"""The static checks are part of the suite: lint, format, types, imports, file size, start-up."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def _run(*words: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run(words, cwd=cwd, capture_output=True, text=True, timeout=300)


@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check", "--no-cache", "."),
        ("ruff", "format", "--check", "."),
        ("mypy", "core", "app"),
    ],
    ids=["lint", "format", "types"],
)
def test_static_check_is_clean(command: tuple[str, ...]) -> None:
    done = _run(sys.executable, "-m", *command)
    assert done.returncode == 0, done.stdout + done.stderr


def test_import_contracts_hold() -> None:
    done = _run(
        sys.executable,
        "-c",
        "import sys; sys.path[:0] = ['core', 'app']\n"
        "from importlinter.cli import lint_imports_command\nlint_imports_command()",
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_source_file_is_over_500_lines() -> None:
    long = [
        f"{path.relative_to(ROOT)}: {count}"
        for folder in ("core", "app", "tests")
        for path in (ROOT / folder).rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 500
    ]
    assert not long


def test_help_loads_neither_scipy_nor_qt() -> None:
    code = (
        "import sys\nfrom wayside_app.cli import main\nassert main(['--help']) == 0\n"
        "bad = {m.split('.')[0] for m in sys.modules} & {'scipy', 'PySide6', 'numpy'}\n"
        "assert not bad, bad"
    )
    done = _run(sys.executable, "-c", f"import sys; sys.path[:0] = ['core', 'app']\n{code}")
    assert done.returncode == 0, done.stderr
