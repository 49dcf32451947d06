"""The PDF, read back by another library (PDFium, through Qt's reader)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument
from PySide6.QtWidgets import QApplication
from tests.core.report.made import MADE, bundle, material, rows

from wayside.errors import Cancelled
from wayside.hand import digits
from wayside.jobs import QUIET, Job
from wayside.report.blocks import Table
from wayside.report.make import make_report
from wayside.report.material import Bundle
from wayside_app.pdf.make import make_pdf
from wayside_app.pdf.pages import break_pages, cut_tables
from wayside_app.pdf.png import figure_png
from wayside_app.pdf.text import Setter

pytestmark = pytest.mark.usefixtures("qapp")


@contextmanager
def opened(pdf: bytes) -> Iterator[QPdfDocument]:
    document = QPdfDocument()
    buffer = QBuffer(document)
    buffer.setData(QByteArray(pdf))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    document.load(buffer)
    assert document.status() is QPdfDocument.Status.Ready
    yield document
    document.close()
    document.deleteLater()


def text_of(document: QPdfDocument, page: int) -> str:
    return " ".join(document.getAllText(page).text().split())


@pytest.fixture(scope="module")
def teacher() -> bytes:
    return make_pdf(make_report(Bundle(material(), rows(), made=MADE)))


@pytest.fixture(scope="module")
def student() -> bytes:
    return make_pdf(make_report(bundle(), student=True))


def test_its_text_can_be_selected_and_says_the_same_as_the_page(teacher: bytes) -> None:
    with opened(teacher) as document:
        pages = [text_of(document, k) for k in range(document.pageCount())]
    text = " ".join(pages)
    for needed in (
        "Prediction and recording agree within their uncertainties",
        "distance between the markers",
        "Spectrogram of the recording",
        "pitch followed",
        "Budget of the approach pitch",
        "All runs together",
        "wayside report pass.wav --setup setup.json -o out.html",
    ):
        assert needed in text, needed
    assert "\ufb02" not in text, "joined letters are copied as one strange sign"
    p = material().prediction
    assert p is not None
    for q in (p.speed_mps, p.approach_hz, p.recede_hz):
        assert digits.full_text(q) in text


def test_pages_are_numbered_and_none_is_empty(teacher: bytes) -> None:
    with opened(teacher) as document:
        count = document.pageCount()
        assert 6 <= count <= 14
        for k in range(count):
            text = text_of(document, k)
            assert f"{k + 1} / {count}" in text
            assert len(text) > 60


def test_no_page_ends_with_a_heading(teacher: bytes, student: bytes) -> None:
    for pdf, is_student in ((teacher, False), (student, True)):
        report = make_report(
            Bundle(material(), () if is_student else rows(), made=MADE), is_student
        )
        titles = {" ".join(s.title.split()) for s in report.sections}
        with opened(pdf) as document:
            for k in range(document.pageCount()):
                body = text_of(document, k).split(report.title)[0]
                # the title stands in the foot; what comes before it is the page
                assert not any(body.rstrip().endswith(t) for t in titles), body[-60:]


def test_no_heading_row_is_repeated_where_no_row_follows() -> None:
    report = make_report(Bundle(material(), rows(), made=MADE))
    before = 0
    for height in range(700, 1100, 20):
        document = Setter(660.0, float(height), 96.0).set_report(report)
        before += len(cut_tables(document))
        break_pages(document, QUIET)
        assert document.pageCount() > 1
        assert not cut_tables(document)
    assert before, "none of these heights cuts a table, so nothing is shown"


def test_nothing_is_drawn_on_two_pages(teacher: bytes, student: bytes) -> None:
    report = make_report(Bundle(material(), rows(), made=MADE))
    tables = [b for section in report.sections for b in section.blocks if isinstance(b, Table)]
    # heading rows are repeated on purpose
    heads = tuple({" ".join(table.head)[:40] for table in tables})
    for pdf in (teacher, student):
        with opened(pdf) as document:
            pages = [text_of(document, k) for k in range(document.pageCount())]
        for one, two in pairwise(pages):
            assert two.startswith(heads) or two[:40] not in one, two[:40]


def test_answers_begin_on_a_page_of_their_own(student: bytes) -> None:
    with opened(student) as document:
        pages = [text_of(document, k) for k in range(document.pageCount())]
    first = next(k for k, text in enumerate(pages) if text.startswith("Answers"))
    assert "agree within their uncertainties" not in " ".join(pages[:first])
    assert "agree within their uncertainties" in pages[first]


def test_figures_are_drawn(teacher: bytes) -> None:
    with opened(teacher) as document:
        ink = 0
        for k in range(document.pageCount()):
            image = document.render(k, QSize(420, 594)).convertToFormat(QImage.Format.Format_RGB888)
            data = np.frombuffer(image.constBits(), np.uint8).reshape(594, -1)[:, : 3 * 420]
            red, _, blue = (data[:, c::3].astype(int) for c in range(3))
            ink += int(np.sum(blue - red > 60))
    assert ink > 1500, "the blue of the sound is missing"
    images = re.findall(rb"/Subtype /Image\s.*?/Width (\d+)", teacher, flags=re.S)
    assert len(images) == 1, "only the spectrogram is a picture; all else is drawn"


def test_the_same_report_gives_the_same_bytes_without_a_date(teacher: bytes) -> None:
    again = make_pdf(make_report(Bundle(material(), rows(), made=MADE)))
    assert again == teacher
    assert b"CreationDate (D:" not in teacher
    assert not re.search(rb"20\d\d-\d\d-\d\dT\d\d:\d\d", teacher)


def test_it_can_be_stopped() -> None:
    with pytest.raises(Cancelled):
        make_pdf(make_report(bundle()), Job(cancelled=lambda: True))


def test_names_with_markup_are_plain_text() -> None:
    odd = '<b onclick="x()">Ride & "run"</b>'
    with opened(make_pdf(make_report(bundle(title=odd)))) as document:
        assert text_of(document, 0).startswith(odd)
    material.cache_clear()


def test_a_figure_as_png_has_300_dots_an_inch() -> None:
    from wayside.report.figures.agreement import agreement_figure

    c = material().comparison
    assert c is not None
    figure = agreement_figure(c.rows)
    assert figure is not None
    image = QImage.fromData(figure_png(figure))
    assert image.width() / (170.0 / 25.4) == pytest.approx(300.0, rel=0.01)
    assert isinstance(QApplication.instance(), QApplication)
