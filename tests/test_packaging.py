"""The README's commands, the wheel, and the program running from the wheel alone."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def _pip(*words: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pip", "--disable-pip-version-check", *words],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel from a copy, so that nothing is left in the source tree."""
    source = tmp_path_factory.mktemp("source")
    for name in ("core", "app"):
        shutil.copytree(
            ROOT / name,
            source / name,
            ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"),
        )
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source)
    out = tmp_path_factory.mktemp("wheel")
    _pip("wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(out), str(source))
    (built,) = out.glob("wayside-*.whl")
    return built


@pytest.fixture(scope="module")
def site(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install the wheel alone into a folder of its own."""
    target = tmp_path_factory.mktemp("site")
    _pip("install", "--no-deps", "--no-index", "--target", str(target), str(wheel))
    return target


def test_wheel_holds_our_two_packages_and_nothing_generic(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    tops = {name.split("/")[0] for name in names}
    info = {top for top in tops if top.endswith(".dist-info")}
    shared = {top for top in tops if top.endswith(".data")}  # desktop file and icon
    assert tops - info - shared == {"wayside", "wayside_app"}
    assert {n.split("/")[1] for n in names if n.split("/")[0] in shared} <= {"data"}
    assert len(info) == 1
    assert "wayside/py.typed" in names
    assert not [n for n in names if "test" in Path(n).name.lower()]


def test_every_module_of_the_source_tree_is_in_the_wheel(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    modules = {
        path.relative_to(ROOT / root).as_posix()
        for root in ("core", "app")
        for path in (ROOT / root).rglob("*.py")
        if "__pycache__" not in path.parts
    }
    assert not modules - names


def test_wheel_names_its_command(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (n for n in archive.namelist() if n.endswith("entry_points.txt"))
        assert "wayside = wayside_app.cli:main" in archive.read(name).decode()


def _from_wheel(site: Path, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    code = (
        "import sys, wayside, wayside_app\n"
        f"assert wayside.__file__.startswith({str(site)!r}), wayside.__file__\n"
        f"assert wayside_app.__file__.startswith({str(site)!r}), wayside_app.__file__\n"
        "from wayside_app.cli import main\nsys.exit(main(sys.argv[1:]))"
    )
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code, *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(site), "COLUMNS": "80"},
        capture_output=True,
        text=True,
        timeout=300,
    )


def test_the_demo_runs_from_the_wheel_in_an_empty_folder(site: Path, tmp_path: Path) -> None:
    done = _from_wheel(site, tmp_path, "demo")
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"\d\.\d+ ± \d", done.stdout)
    assert not list(tmp_path.iterdir()), "the demo left files behind unasked"


def test_ci_runs_exactly_the_test_command_of_the_readme() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (command,) = re.findall(r"<!-- test command -->\n```bash\n(.*?)\n```", text, flags=re.S)
    script = ROOT / ".ci" / "run"
    assert os.access(script, os.X_OK)
    shown = subprocess.run(
        [str(script), "--show"], capture_output=True, text=True, timeout=30, check=True
    )
    assert shown.stdout == command + "\n"
    # what it shows is what it runs, and it holds no command of its own
    body = script.read_text(encoding="utf-8")
    assert body.rstrip().endswith('exec bash -c "$command"')
    assert "pytest" not in body
    assert "pytest" in command.splitlines()[-1]


def test_readme_opens_with_exactly_two_commands_that_are_valid_shell() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text.split("## Two commands")[1].split("\n## ")[0]
    blocks = re.findall(r"```bash\n(.*?)\n```", section, flags=re.S)
    assert len(blocks) == 2
    assert "wayside demo" in blocks[0]
    for block in blocks:
        # one command: every line but the last is joined to the next
        assert all(line.rstrip().endswith("&&") for line in block.splitlines()[:-1])
        subprocess.run(["bash", "-n", "-c", block], check=True, timeout=30)


def test_readme_links_lead_somewhere() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert "://" in target or (ROOT / target).exists(), target
