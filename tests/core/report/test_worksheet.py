"""The worksheet: the data are there, the answers are not, until their own pages."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from tests.core.report.made import MADE, bundle, material, rows

from wayside.hand import digits
from wayside.hand.entry import Entry
from wayside.hand.predict import RESULTS, predict
from wayside.hand.setup import Setup
from wayside.report.blocks import FillIn, Formula, Report, Shown, Table, Worked
from wayside.report.contents.worksheet import ANSWERS
from wayside.report.make import make_html, make_report
from wayside.report.material import Bundle


@pytest.fixture(scope="module")
def worksheet() -> Report:
    return make_report(Bundle(material(), rows(), made=MADE), student=True)


@pytest.fixture(scope="module")
def halves() -> tuple[str, str]:
    """Text of the page before the answers and from there on, without pictures' data."""
    page = make_html(Bundle(material(), rows(), made=MADE), student=True).decode()
    page = re.sub(r"data:image/png;base64,[A-Za-z0-9+/=]+", "", page)
    page = re.sub(r"<style>.*?</style>", "", page, flags=re.S)
    # the list of contents names the answers before they come
    head, tail = re.split(rf'<section id="{ANSWERS}"', page)
    return head, tail


def _answers() -> dict[str, str]:
    """Every result that was not simply measured, as it would be written."""
    m = material()
    p, measured, c = m.prediction, m.measurement, m.comparison
    assert p is not None
    assert measured is not None
    assert measured.fit is not None
    assert c is not None
    given = {"source_hz", "closest_m"}
    found = {
        f"predicted {name}": digits.number_text(q)
        for name in RESULTS
        if name not in given and (q := getattr(p, name)) is not None
    }
    for name in ("speed_mps", "source_hz", "approach_hz", "recede_hz"):
        found[f"measured {name}"] = digits.number_text(getattr(measured.fit, name))
    # the invented distance is the taped one, so only its uncertainty gives it away
    found["measured closest_m"] = digits.full_text(measured.fit.closest_m)
    two = measured.two_window
    assert two is not None
    for label, q in (("approach", two.approach.pitch), ("recede", two.recede.pitch)):
        found[f"read {label}"] = digits.number_text(q)
    for row in c.rows:
        if row.name not in given and row.e_n == row.e_n:
            found[f"difference {row.name}"] = digits.full_text(row.difference)
    return found


def test_no_answer_stands_before_the_answers(halves: tuple[str, str]) -> None:
    head, tail = halves
    found = _answers()
    assert len(found) > 15
    for what, number in found.items():
        whole = rf"(?<![\d.]){re.escape(number)}(?![\d.]*\d)"
        assert not re.search(whole, head), f"{what} = {number} can be read before the answers"
        assert re.search(whole, tail), f"{what} = {number} is missing from the answers"


def test_verdict_words_and_settings_stand_with_the_answers(halves: tuple[str, str]) -> None:
    head, tail = halves
    for words in ("agree within", "Settings of the measurement", "Budget of", "SHA-256"):
        assert words not in head
        assert words in tail


def test_the_data_to_work_from_are_there(halves: tuple[str, str]) -> None:
    head, _ = halves
    m = material()
    assert m.setup is not None
    for i in m.setup.inputs:
        if not i.assumed:
            assert i.label in head
    for words in ("6.100 m", "3.7690 s", "Name", "Group", "Spectrogram", "spotter"):
        assert words in head, words


def test_every_step_has_its_formula_and_blanks(worksheet: Report) -> None:
    steps = [b for s in worksheet.sections if s.key == "predict" for b in s.blocks]
    worked = [b for b in steps if isinstance(b, Worked)]
    p = material().prediction
    assert p is not None
    assert [w.step for w in worked] == [*p.conversions, *p.steps]
    assert all(w.open for w in worked)
    page = make_html(bundle(), student=True).decode()
    asked = sum(bool(w.step.numbers) for w in worked)
    assert page.count(">result, with its unit<") == asked > 4


def test_picture_to_read_from_has_no_curve_on_it(worksheet: Report) -> None:
    before = worksheet.sections[: [s.key for s in worksheet.sections].index(ANSWERS)]
    figures = [b.figure for s in before for b in s.blocks if isinstance(b, Shown)]
    assert {f.name for f in figures} == {"given-track", "worksheet-spectrogram"}
    for figure in figures:
        assert not [e for e in figure.svg.iter("polyline") if len(e.get("points", "")) > 100]


def test_answers_begin_on_a_page_of_their_own(worksheet: Report) -> None:
    keys = [s.key for s in worksheet.sections]
    first = worksheet.sections[keys.index(ANSWERS)]
    assert first.new_page
    assert worksheet.answers_from == ANSWERS
    assert all(k.startswith(ANSWERS) or k == "repeat" for k in keys[keys.index(ANSWERS) :])


def test_there_is_room_to_write(worksheet: Report) -> None:
    blocks = [b for s in worksheet.sections for b in s.blocks]
    assert sum(b.lines for b in blocks if isinstance(b, FillIn)) >= 12
    table = next(b for b in blocks if isinstance(b, Table) and b.caption == "Side by side")
    assert len(table.rows) == 4
    assert all(len(set(row[1:])) == 1 for row in table.rows)


def test_formulas_from_two_pitches_fit_who_moves() -> None:
    pitch = Entry(500.0, "Hz", 1.0)
    entries = {
        "motion.speed": Entry(80.0, "km/h", 1.0),
        "source.pitch": pitch,
        "air.temperature": Entry(20.0, "°C", 0.5),
    }
    setup = Setup("moving-observer", "rule-of-thumb", entries)
    m = replace(material(), setup=setup, prediction=predict(setup), comparison=None)
    blocks = [b for s in make_report(Bundle(m), student=True).sections for b in s.blocks]
    plain = [b.plain for b in blocks if isinstance(b, Formula)]
    assert plain == ["v = c × (f_a − f_r) / (f_a + f_r)", "f₀ = (f_a + f_r) / 2"]
    # Fitzpatrick, Newtonian Mechanics, ex. 13.4: 80 km/h towards and away from 500 Hz in
    # 343 m/s is heard as 532.39 and 467.61 Hz
    c, fa, fr = 343.0, 532.39, 467.61
    assert c * (fa - fr) / (fa + fr) * 3.6 == pytest.approx(80.0, abs=0.01)
    assert (fa + fr) / 2 == pytest.approx(500.0, abs=0.01)
    asked = [b.label for b in blocks if isinstance(b, FillIn)]
    assert any("lies half-way" in label for label in asked)
