"""Damage led by what it reaches: ``python -m tests.fuzz.guided setup|session [RUNS]``.

Needs atheris (``pip install atheris``), which is no dependency of the program. It keeps what
opens a new branch of the readers and damages that further.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path


def main() -> int:
    """Run the readers on ever new texts."""
    import atheris

    with atheris.instrument_imports(include=["wayside"]):
        from tests.fuzz.run import TEXT_SEEDS, text_case

    target, runs = sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "20000"
    folder = Path(tempfile.mkdtemp())
    corpus = folder / "corpus"
    corpus.mkdir()
    for number, text in enumerate(TEXT_SEEDS[target]()):
        (corpus / f"{number}").write_text(text, encoding="utf-8")

    def one(data: bytes) -> None:
        case = text_case(target, data, folder)
        if not case.is_good:
            raise RuntimeError(f"{case.outcome}\n{case.detail}")

    words = (f"-runs={runs}", "-max_len=6000", "-timeout=10", f"-artifact_prefix={folder}/")
    atheris.Setup([sys.argv[0], *words, str(corpus)], one)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
