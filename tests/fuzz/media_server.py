"""Answers one line of JSON for every line ``TARGET PATH`` read; keeps forking out of pytest."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path

from tests.fuzz.forked import run_case


def main() -> int:
    """Serve until the input ends."""
    print("ready", flush=True)
    for line in sys.stdin:
        target, _, path = line.rstrip("\n").partition(" ")
        print(json.dumps(asdict(run_case(target, Path(path)))), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
