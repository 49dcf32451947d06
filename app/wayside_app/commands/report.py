"""``wayside report RECORDING --setup SETUP.json -o OUT``: a report or a worksheet."""

from __future__ import annotations

import argparse
from pathlib import Path

from wayside_app.commands.reporting import (
    add_input_arguments,
    bundle_of,
    command_line,
    ended,
    name_beside,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.description = (
        "Write a report on one run, or on a session with all its runs, as one web page or PDF: "
        "verdict, hand measurements, worked prediction, spectrogram, fit, uncertainties and how "
        "to repeat it all. The same input gives the same bytes."
    )
    add = parser.add_argument
    add_input_arguments(parser)
    add("-o", "--out", metavar="OUT", required=True, help="file to write: .html or .pdf")
    add("--student", action="store_true", help="a worksheet with blanks, its answers at the end")
    add("--date", metavar="TEXT", default="", help="date to print; none by default")
    add("--force", action="store_true", help="replace OUT if it exists")


def run(args: argparse.Namespace) -> int:
    """Write the report; 3 when the recording holds no pass-by (the report says so)."""
    from wayside.report.make import make_html, make_report
    from wayside.report.text import one_line
    from wayside.report.writing import HTML, check_target, write_out

    out = Path(args.out)
    sources = [Path(p) for p in (args.file, args.setup) if p]
    check_target(out, args.force, sources)
    words = ["-o", name_beside(out), *(["--student"] if args.student else [])]
    words += ["--date", args.date] if args.date else []
    bundle = bundle_of(args, command_line("report", args, words), args.date)
    if out.suffix.lower() == HTML:
        data = make_html(bundle, args.student)
    else:
        from wayside_app.pdf.make import make_pdf

        data = make_pdf(make_report(bundle, args.student))
    write_out(out, data)
    print(f"{one_line(out.name)} is written.")
    return ended(bundle.run.measurement)
