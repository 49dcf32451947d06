"""Builds the wheel and uses it alone: ``python -m tests.release.fresh_install PYTHON …``.

For every interpreter named: a new environment, the wheel and its dependencies from the package
index, ``wayside demo`` in an empty folder, the window without a screen.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_LOOK = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from wayside_app.cli import main
seen = []
def look():
    windows = [w for w in QApplication.topLevelWidgets() if w.isVisible()]
    image = windows[0].grab().toImage()
    colours = {image.pixel(x, y) for x in range(0, image.width(), 7)
               for y in range(0, image.height(), 7)}
    seen.append(len(colours))
    for w in windows:
        w.close()
made = QApplication.__init__
def init(self, *args):
    made(self, *args)
    self.timer = QTimer()
    self.timer.setSingleShot(True)
    self.timer.timeout.connect(look)
    self.timer.start(8000)
QApplication.__init__ = init
code = main(["open"])
print("window: code", code, "colours", seen)
sys.exit(code or (not seen) or seen[0] < 10)
"""


def main() -> int:
    """Try every interpreter; end with 1 if one fails."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pythons", nargs="+", metavar="PYTHON")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        wheel = build(folder)
        print(f"built {wheel.name}, {wheel.stat().st_size / 1e3:.0f} kB", flush=True)
        return max(_try(python, wheel, folder / f"try{i}") for i, python in enumerate(args.pythons))


def build(folder: Path) -> Path:
    """Build the wheel from a copy of the tree and return its path."""
    source = folder / "source"
    ignore = shutil.ignore_patterns("__pycache__", "*.egg-info")
    for part in ("core", "app"):
        shutil.copytree(ROOT / part, source / part, ignore=ignore)
    for part in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / part, source)
    words = (sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps")
    subprocess.run([*words, "--wheel-dir", str(folder / "wheel"), str(source)], check=True)
    (wheel,) = (folder / "wheel").glob("wayside-*.whl")
    return wheel


def _try(python: str, wheel: Path, folder: Path) -> int:
    folder.mkdir()
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    environment |= {"HOME": str(folder), "QT_QPA_PLATFORM": "offscreen"}
    subprocess.run([python, "-m", "venv", str(folder / "venv")], check=True)
    run = folder / "venv" / "bin"
    subprocess.run(
        [run / "python", "-m", "pip", "install", "--quiet", str(wheel)], check=True, env=os.environ
    )
    empty = folder / "empty"
    empty.mkdir()
    version = subprocess.run([python, "--version"], capture_output=True, text=True).stdout.strip()
    bad = 0
    for words in ([run / "wayside", "demo"], [run / "python", "-W", "error", "-c", _LOOK]):
        done = subprocess.run(
            words, cwd=empty, env=environment, capture_output=True, text=True, timeout=300
        )
        last = (done.stdout.strip().splitlines() or [""])[-1]
        print(f"{version}: {Path(words[0]).name} ended with {done.returncode}: {last}", flush=True)
        if done.returncode:
            print(done.stdout + done.stderr)
            bad = 1
    left = [p.name for p in empty.iterdir()]
    if left:
        print(f"{version}: left behind {left}")
    return bad or bool(left)


if __name__ == "__main__":
    sys.exit(main())
