"""Child processes that decode: started with this program's own source, kept on a short leash.

A crash or a memory grab of the media library on a hostile file then costs a child, not the
user's session.
"""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import wayside


def start_child(
    module: str, path: Path, *options: str, listens: bool = False
) -> subprocess.Popen[bytes]:
    """Start ``python -m module PATH OPTIONS``.

    Parameters
    ----------
    module : str
        Module with a ``main``.
    path : Path
        The file to decode.
    *options : str
        Further arguments.
    listens : bool
        Whether the child takes commands on its standard input.
    """
    source_root = str(Path(wayside.__file__).parent.parent)
    paths = [source_root, os.environ.get("PYTHONPATH", "")]
    return subprocess.Popen(
        # -P: the current folder must not shadow installed modules.
        [sys.executable, "-P", "-m", module, str(path.absolute()), *options],
        stdin=subprocess.PIPE if listens else subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in paths if p)},
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )


def limit_memory(n_bytes: int) -> None:
    """Keep this process below `n_bytes` of memory, where the system can do that."""
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (n_bytes, n_bytes))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
