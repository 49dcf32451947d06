"""``wayside data RECORDING --out FOLDER``: the numbers behind the plots, and the figures."""

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
        "Write pitch track, fitted and expected curve, residuals, side-by-side table and a film's "
        "frame times as CSV tables, and the figures as SVG and PNG. The first line of each table "
        "is a comment that says where it comes from."
    )
    add = parser.add_argument
    add_input_arguments(parser)
    add("--out", metavar="FOLDER", required=True, help="folder to write into; made if need be")
    add("--force", action="store_true", help="replace files of an earlier run")


def run(args: argparse.Namespace) -> int:
    """Write the files; 3 when the recording holds no pass-by."""
    from wayside.report.numbers import FILES, figures_of, tables_of
    from wayside.report.text import one_line
    from wayside.report.writing import check_folder, write_folder
    from wayside_app.pdf.png import figure_png

    folder = Path(args.out)
    check_folder(folder, FILES, args.force)
    bundle = bundle_of(args, command_line("data", args, ["--out", name_beside(folder)]))
    files = tables_of(bundle)
    for figure in figures_of(bundle):
        files[f"{figure.name}.svg"] = figure.as_file()
        files[f"{figure.name}.png"] = figure_png(figure)
    write_folder(folder, files)
    print(f"{len(files)} files are in {one_line(str(folder))}: {', '.join(files)}.")
    return ended(bundle.run.measurement)
