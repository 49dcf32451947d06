"""The web page: valid, self-contained, readable by everybody, and safe whatever names hold.

Structure is judged by html5lib, which follows the parsing rules of the WHATWG HTML standard;
headings, table headers, names of pictures and contrast by WCAG 2.2 (1.1.1, 1.3.1, 1.4.3, 2.4.6).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from xml.etree.ElementTree import Element

import html5lib
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.core.report.made import MADE, bundle, material, rows, steadiness

from wayside.hand import digits
from wayside.report.make import make_html
from wayside.report.material import Bundle
from wayside.report.style import CSS
from wayside.review.summary import summary_of

XLINK = "{http://www.w3.org/1999/xlink}href"
SHELL = {"html", "head", "meta", "title", "style", "body"}
TEXT = {"header", "nav", "main", "section", "div", "h1", "h2", "h3", "p", "a", "br", "strong"}
LISTS = {"ul", "ol", "li", "table", "caption", "thead", "tbody", "tr", "th", "td", "pre", "span"}
DRAWN = {"figure", "figcaption", "svg", "desc", "rect", "line", "polyline", "polygon", "circle"}
MATHS = {"math", "mrow", "mi", "mn", "mo", "mtext", "mspace", "mfrac", "msqrt", "msub", "msup"}
ALLOWED = SHELL | TEXT | LISTS | DRAWN | MATHS | {"text", "image", "msubsup"}


def page_of(html: bytes) -> Element:
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    return parser.parse(html, transport_encoding="utf-8")


def tag(element: Element) -> str:
    return str(element.tag).rsplit("}", 1)[-1]


def words_of(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def elements(page: Element) -> Iterator[Element]:
    return (e for e in page.iter() if isinstance(e.tag, str))


@pytest.fixture(scope="module")
def teacher() -> Element:
    return page_of(make_html(Bundle(material(), rows(), made=MADE)))


@pytest.fixture(scope="module")
def student() -> Element:
    return page_of(make_html(Bundle(material(), rows(), made=MADE), student=True))


@pytest.fixture(params=["teacher", "student"])
def page(request: pytest.FixtureRequest) -> Element:
    found: Element = request.getfixturevalue(request.param)
    return found


def test_nothing_is_fetched_and_nothing_runs(page: Element) -> None:
    assert {tag(e) for e in elements(page)} <= ALLOWED
    for e in elements(page):
        for name, value in e.attrib.items():
            assert not name.lower().startswith("on"), (tag(e), name)
            if name in ("href", "src", XLINK):
                assert value.startswith(("#", "data:image/png;base64,")), value[:40]
    assert "url(" not in CSS
    assert "@import" not in CSS
    policy = page.find(".//meta[@http-equiv='Content-Security-Policy']")
    assert policy is not None
    assert policy.get("content", "").startswith("default-src 'none'")


def test_headings_go_down_one_level_at_a_time(page: Element) -> None:
    assert page.get("lang") == "en-GB"
    levels = [int(tag(e)[1]) for e in elements(page) if re.fullmatch("h[1-6]", tag(e))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_every_table_has_a_caption_and_scoped_headers(page: Element) -> None:
    tables = page.findall(".//table")
    assert len(tables) > 8
    for table in tables:
        caption = table.find("caption")
        assert caption is not None
        assert words_of(caption)
        assert all(h.get("scope") == "col" for h in table.findall("./thead/tr/th"))
        columns = len(table.findall("./thead/tr/th"))
        for row in table.findall("./tbody/tr"):
            assert [h.get("scope") for h in row.findall("th")] == ["row"]
            assert len(list(row)) == columns


def test_every_picture_is_described_and_every_name_is_unique(page: Element) -> None:
    names = [e.get("id") for e in elements(page) if e.get("id")]
    assert len(names) == len(set(names))
    pictures = [e for e in elements(page) if tag(e) == "svg"]
    assert len(pictures) >= 4
    for picture in pictures:
        assert picture.get("role") == "img"
        by_name = {e.get("id"): e for e in picture.iter() if isinstance(e.tag, str)}
        for name in picture.get("aria-labelledby", "").split():
            assert len(words_of(by_name[name])) > 10
    for e in elements(page):
        for name in e.get("aria-labelledby", "").split():
            assert name in names
        if tag(e) == "a":
            assert e.get("href", "")[1:] in names


def test_formulas_carry_their_plain_text(page: Element) -> None:
    maths = [e for e in elements(page) if tag(e) == "math"]
    assert len(maths) > 10
    assert all(e.get("alttext") for e in maths)
    assert not [e for e in elements(page) if tag(e) == "mtext"], "a formula could not be read"


def test_text_stands_out_from_the_page() -> None:
    # WCAG 2.2, 1.4.3: at least 4.5 : 1
    colours = set(re.findall(r"[^-]color: (#[0-9a-f]{6})", CSS))
    assert len(colours) >= 6
    for colour in colours:
        assert _contrast(colour, "#ffffff") >= 4.5, colour
        assert _contrast(colour, "#f4f2ed") >= 4.5, colour


def test_it_says_everything_a_report_has_to(teacher: Element) -> None:
    text = words_of(teacher)
    for needed in (
        "Prediction and recording agree within their uncertainties",
        "What was measured by hand",
        "distance between the markers",
        "worked out",
        "Spectrogram of the recording",
        "Residuals of the fit",
        "What would explain a difference",
        "Budget of the approach pitch",
        "spotter",
        "hearing protection",
        "All runs together",
        "wayside report pass.wav --setup setup.json -o out.html",
        "0f" * 32,
        "clock",
        '"format": "wayside-setup"',
    ):
        assert needed in text, needed
    assert "/somewhere" not in text, "a path of this machine is in the report"


def test_its_numbers_are_those_of_the_comparison(teacher: Element) -> None:
    c = material().comparison
    assert c is not None
    section = teacher.find(".//section[@id='side-by-side']")
    assert section is not None
    lines = {
        words_of(r[0]): [words_of(cell) for cell in r[1:]] for r in section.findall(".//tbody/tr")
    }
    assert len(c.rows) >= 6
    for row in c.rows:
        value = float(lines[row.label][1].split()[0].replace("−", "-"))
        assert value == pytest.approx(row.measured.value, abs=0.6 * row.measured.u or 1e-9)


def test_the_class_is_told_by_run_by_group_and_out_and_back() -> None:
    table = (*rows(("lane-out", "two-out"), "A"), *rows(("lane-back", "five"), "B"))
    back = replace(table[2], direction="back", group="A")
    page = page_of(
        make_html(Bundle(replace(material(), picture=None), (*table[:2], back, table[3])))
    )
    section = page.find(".//section[@id='class']")
    assert section is not None
    text = words_of(section)
    for needed in (
        "All 4 runs",
        "All runs together",
        "Group A",
        "Out and back",
        "lane-out and lane-back:",
    ):
        assert needed in text, needed
    mean = summary_of((*table[:2], back, table[3])).means[0]
    assert mean.name == "speed_mps"
    assert digits.full_text(mean.pooled.mean) in text


def test_the_same_material_gives_the_same_bytes() -> None:
    for student in (False, True):
        first = make_html(bundle(), student)
        material.cache_clear()
        steadiness.cache_clear()
        assert make_html(bundle(), student) == first


MARKUP = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        [
            "<script>alert(1)</script>",
            '"><img src=x onerror=alert(1)>',
            "</title><script>1</script>",
            "</style><script>1</script>",
            "]]><svg onload=1>",
            "{{ 7 * 7 }} ${7 * 7} <%= 1 %>",
            "&lt;b&gt; &amp; &#x0; &quot;",
            "javascript:alert(1)",
            "a\u202egnp.exe\x00\x1b[31m\ud800\ufffe",
            "--><!-- ]]>",
            "'\"`\\",
            "=cmd|' /C calc'!A0",
        ]
    ),
)


@settings(
    max_examples=16,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(title=MARKUP, notes=MARKUP, name=MARKUP, tool=MARKUP, run=MARKUP)
def test_whatever_names_hold_is_shown_as_text(
    title: str, notes: str, name: str, tool: str, run: str
) -> None:
    made = material(title, notes, name.replace("/", "") or "x.wav", tool.strip() or "tape")
    # without the large picture, which names cannot reach
    made = replace(made, picture=None)
    table = rows((run, "other"), group=notes)
    for student in (False, True):
        page = page_of(make_html(Bundle(made, table, made=MADE), student))
        assert {tag(e) for e in elements(page)} <= ALLOWED
        for e in elements(page):
            assert not [a for a in e.attrib if a.lower().startswith("on")]
            for attribute in ("href", "src", XLINK):
                value = e.get(attribute, "#")
                assert value.startswith(("#", "data:image/png;base64,"))
    material.cache_clear()


def test_a_name_with_markup_is_there_to_be_read() -> None:
    odd = '<b onclick="x()">Ride & "run"</b>'
    page = page_of(make_html(bundle(title=odd)))
    heading = page.find(".//h1")
    assert heading is not None
    assert words_of(heading) == odd
    material.cache_clear()


def _contrast(a: str, b: str) -> float:
    """WCAG 2.2, contrast ratio of two sRGB colours."""
    light, dark = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
