"""The window on a real X screen: ``python -m tests.release.on_screen [PICTURE.png]``.

Starts a virtual screen with a window manager, opens a bundled sample, looks whether the window has
painted and named itself, keeps a picture, closes it as a person would, and wants exit code 0.
Needs Xvfb, openbox, xdotool and x11-utils (``apt-get install xvfb openbox xdotool x11-utils``).
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_media"
PROGRAMS = ("Xvfb", "openbox", "xdotool", "xprop")
FEWEST_COLOURS = 50
_GRAB = """
import sys
from PySide6.QtGui import QGuiApplication
app = QGuiApplication([])
image = app.primaryScreen().grabWindow(0).toImage()
image.save(sys.argv[1])
w, h = image.width(), image.height()
print(len({image.pixel(x, y) for x in range(0, w, 3) for y in range(0, h, 3)}))
"""


def main() -> int:
    """Open, look, close; print what was seen."""
    missing = [name for name in PROGRAMS if shutil.which(name) is None]
    if missing:
        print(f"Missing: {', '.join(missing)}; see the top of this file.")
        return 2
    picture = Path(sys.argv[1] if len(sys.argv) > 1 else "on-screen.png")
    with tempfile.TemporaryDirectory() as home, screen(home) as environment:
        command = [sys.executable, "-m", "wayside_app", "open"]
        command += [str(SAMPLES / "courtyard-tread.flac")]
        command += ["--setup", str(SAMPLES / "courtyard-tread.setup.json")]
        with started(command, environment) as window:
            seen = waited(environment, window)
            time.sleep(12.0)
            colours = int(run([sys.executable, "-c", _GRAB, str(picture)], environment))
            title = run(["xdotool", "getwindowname", seen], environment).strip()
            print(f"window “{title}”, {colours} colours, picture in {picture}")
            run(["xdotool", "windowactivate", "--sync", seen, "key", "ctrl+q"], environment)
            code = ended(environment, window)
    print(f"closed with exit code {code}")
    return 0 if code == 0 and colours >= FEWEST_COLOURS else 1


@contextlib.contextmanager
def screen(home: str) -> Iterator[dict[str, str]]:
    """Run a virtual screen with a window manager; yields the environment to use it."""
    number = next(n for n in range(90, 190) if not Path(f"/tmp/.X11-unix/X{n}").exists())
    environment = {k: v for k, v in os.environ.items() if k != "QT_QPA_PLATFORM"}
    environment |= {"DISPLAY": f":{number}", "HOME": home, "XDG_CONFIG_HOME": home}
    environment["PYTHONPATH"] = os.pathsep.join((str(ROOT / "core"), str(ROOT / "app")))
    server = ["Xvfb", f":{number}", "-screen", "0", "1440x900x24", "-nolisten", "tcp"]
    with started(server, environment):
        deadline = time.monotonic() + 20.0
        while not Path(f"/tmp/.X11-unix/X{number}").exists():
            if time.monotonic() > deadline:
                raise TimeoutError("the virtual screen did not start")
            time.sleep(0.1)
        with started(["openbox"], environment):
            yield environment


@contextlib.contextmanager
def started(command: list[str], environment: dict[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    """Run a program until the block ends; it is ended if it has not ended by itself."""
    child = subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL)
    try:
        yield child
    finally:
        if child.poll() is None:
            child.terminate()
            child.wait(timeout=20)


def waited(environment: dict[str, str], window: subprocess.Popen[bytes]) -> str:
    """Wait for the window to be shown and return its number."""
    deadline = time.monotonic() + 60.0
    while time.monotonic() < deadline and window.poll() is None:
        found = run(
            ["xdotool", "search", "--onlyvisible", "--pid", str(window.pid), "--name", "."],
            environment,
        ).split()
        if found:
            return found[-1]
        time.sleep(0.3)
    raise TimeoutError("no window was shown")


def ended(environment: dict[str, str], window: subprocess.Popen[bytes]) -> int:
    """Wait for the program's end; answer a question about unsaved work with its keyboard."""
    time.sleep(1.5)
    # the question about unsaved work: Save, Discard, Cancel
    run(["xdotool", "key", "Tab", "space"], environment)
    with contextlib.suppress(subprocess.TimeoutExpired):
        return window.wait(timeout=15)
    raise TimeoutError("the window did not close")


def run(command: list[str], environment: dict[str, str]) -> str:
    """Run a short program and return what it says."""
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=60)
    return done.stdout


if __name__ == "__main__":
    sys.exit(main())
