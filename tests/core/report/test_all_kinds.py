"""Every kind of source there is a set-up file of can be written up, also without a recording."""

from __future__ import annotations

import re
from pathlib import Path

import html5lib
import pytest

from wayside.hand.setup_file import read_setup
from wayside.hand.sources import SOURCE_KINDS
from wayside.report.make import make_html
from wayside.report.material import Bundle, gather
from wayside.report.numbers import figures_of, tables_of

FOLDER = Path(__file__).resolve().parents[1] / "hand" / "version1"
FILES = sorted(FOLDER.glob("*.json"))


def test_there_is_one_of_each_kind() -> None:
    assert {read_setup(path).source_kind for path in FILES} == set(SOURCE_KINDS)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_a_prediction_alone_can_be_written_up(path: Path) -> None:
    setup = read_setup(path)
    bundle = Bundle(gather(None, setup))
    for student in (False, True):
        page = make_html(bundle, student)
        html5lib.HTMLParser(strict=True).parse(page, transport_encoding="utf-8")
        text = page.decode()
        assert "<mtext>" not in text, "a formula could not be read"
        assert not re.search(r"\b(nan|inf)\b", text)
    assert tables_of(bundle) == {}
    tracks = [f for f in figures_of(bundle) if f.name == "track"]
    assert len(tracks) <= int(setup.kind.uses_motion)
