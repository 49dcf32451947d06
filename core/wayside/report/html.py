"""A report as one self-contained web page: no script, nothing fetched, fit for printing.

Built as elements, never from pieces of markup, so that whatever a name, a note or a path holds is
shown as text (WHATWG HTML; WCAG 2.2 for headings, table headers and contrast).
"""

from __future__ import annotations

from copy import deepcopy
from xml.etree.ElementTree import Element, SubElement, tostring

from wayside.maths.mathml import mathml
from wayside.report.blocks import (
    BLANK,
    CAUTION,
    VERDICT,
    Block,
    FillIn,
    Formula,
    Items,
    Para,
    Report,
    Section,
    Shown,
    Subhead,
    Table,
    Verbatim,
    Worked,
)
from wayside.report.style import CSS
from wayside.report.text import clean

_ALONE = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_WIDE = 7


def report_as_html(report: Report) -> bytes:
    """Return the page."""
    page = Element("html", {"lang": "en-GB"})
    _head(SubElement(page, "head"), report.title)
    body = SubElement(page, "body")
    _add(SubElement(body, "p", {"class": "skip"}), "a", "To the report", href="#report")
    top = SubElement(body, "header")
    _add(top, "h1", report.title)
    for line in report.about:
        _add(top, "p", line)
    if report.fill_in:
        names = SubElement(top, "div", {"class": "names"})
        for name in report.fill_in:
            _fill_in(names, FillIn(name))
    _contents(body, report)
    main = SubElement(body, "main", {"id": "report"})
    for section in report.sections:
        _section(main, section)
    text: str = tostring(page, "unicode", method="html")
    return f"<!DOCTYPE html>\n{text}\n".encode()


def _head(head: Element, title: str) -> None:
    SubElement(head, "meta", {"charset": "utf-8"})
    SubElement(head, "meta", {"http-equiv": "Content-Security-Policy", "content": _ALONE})
    view = {"name": "viewport", "content": "width=device-width, initial-scale=1"}
    SubElement(head, "meta", view)
    _add(head, "title", title)
    # the writer leaves the content of a style element as it is: it holds our own text only
    SubElement(head, "style").text = CSS


def _contents(body: Element, report: Report) -> None:
    nav = SubElement(body, "nav", {"aria-label": "Contents"})
    entries = SubElement(nav, "ul")
    for section in report.sections:
        _add(SubElement(entries, "li"), "a", section.title, href=f"#{section.key}")


def _section(parent: Element, section: Section) -> None:
    name = f"{section.key}-heading"
    place = {"id": section.key, "aria-labelledby": name}
    if section.new_page:
        place["class"] = "new-page"
    holder = SubElement(parent, "section", place)
    _add(holder, "h2", section.title, id=name)
    for block in section.blocks:
        _block(holder, block)


def _block(parent: Element, block: Block) -> None:
    match block:
        case Para():
            _para(parent, block)
        case Subhead(text):
            _add(parent, "h3", text)
        case Items(items, numbered):
            entries = SubElement(parent, "ol" if numbered else "ul")
            for item in items:
                _add(entries, "li", item)
        case Table():
            _table(parent, block)
        case Worked():
            _worked(parent, block)
        case Formula(latex, plain):
            holder = SubElement(parent, "div", {"class": "formula"})
            holder.append(mathml(clean(latex), clean(plain)))
        case Shown():
            _figure(parent, block)
        case FillIn():
            _fill_in(parent, block)
        case Verbatim(text):
            # can be scrolled, so it must be reachable by keyboard
            _add(parent, "pre", text, tabindex="0")


def _para(parent: Element, para: Para) -> None:
    kind = para.kind if para.kind != VERDICT else f"{VERDICT} {para.tone}"
    holder = SubElement(parent, "p", {"class": kind})
    if para.kind == CAUTION:
        _add(holder, "strong", para.text)
    else:
        _lines(holder, para.text)


def _lines(holder: Element, text: str) -> None:
    first, *rest = clean(text).split("\n")
    holder.text = first
    for line in rest:
        SubElement(holder, "br").tail = line


def _table(parent: Element, table: Table) -> None:
    frame = SubElement(parent, "div", {"class": "frame"})
    holder = SubElement(frame, "table")
    if len(table.head) > _WIDE:
        holder.set("class", "wide")
    _add(holder, "caption", table.caption)
    head = SubElement(SubElement(holder, "thead"), "tr")
    for column, text in enumerate(table.head):
        _add(head, "th", text, scope="col", **_style(table, column))
    rows = SubElement(holder, "tbody")
    for row in table.rows:
        line = SubElement(rows, "tr")
        for column, text in enumerate(row):
            if column == 0:
                _add(line, "th", text, scope="row")
            elif text == BLANK:
                SubElement(line, "td", {"class": "blank", "aria-label": "to be filled in"})
            else:
                _add(line, "td", text, **_style(table, column))


def _style(table: Table, column: int) -> dict[str, str]:
    worded = "words" if column in table.worded or column == 0 else ""
    names = " ".join(filter(None, (table.speaker(column), worded)))
    return {"class": names} if names else {}


def _worked(parent: Element, worked: Worked) -> None:
    step = worked.step
    holder = SubElement(parent, "div", {"class": "step"})
    head = f"{worked.number}. {step.title}" if worked.number else step.title
    _add(holder, "h3", head)
    lines = [(step.formula_latex, step.formula)]
    taken_over = not step.numbers
    if not worked.open:
        lines += [(step.numbers_latex, step.numbers), (step.result_latex, step.result)]
    shown: list[str] = []
    for latex, plain in lines:
        if plain and plain not in shown:
            holder.append(mathml(clean(latex), clean(plain)))
            shown.append(plain)
    if worked.open and not taken_over:
        _fill_in(holder, FillIn("with numbers"))
        _fill_in(holder, FillIn("result, with its unit"))
    if step.note:
        _add(holder, "p", step.note, **{"class": "quiet"})


def _figure(parent: Element, shown: Shown) -> None:
    holder = SubElement(parent, "figure")
    holder.append(deepcopy(shown.figure.svg))
    caption = SubElement(holder, "figcaption")
    strong = _add(caption, "strong", f"{shown.figure.title}.")
    strong.tail = f" {clean(shown.figure.below)}"


def _fill_in(parent: Element, fill_in: FillIn) -> None:
    holder = SubElement(parent, "div", {"class": "fill-in"})
    _add(holder, "span", fill_in.label)
    if not fill_in.lines:
        SubElement(holder, "span", {"class": "rule"})
        return
    holder.set("class", "fill-in long")
    for _ in range(fill_in.lines):
        SubElement(holder, "span", {"class": "rule"})


def _add(parent: Element, tag: str, text: str, **attributes: str) -> Element:
    made = SubElement(parent, tag, attributes)
    made.text = clean(text)
    return made
