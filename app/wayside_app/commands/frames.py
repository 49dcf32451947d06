"""``wayside frames FILM``: when each frame was taken."""

from __future__ import annotations

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    parser.description = (
        "List the true time of every frame of a film, as its file states it. Counting frames and "
        "dividing by a frame rate goes wrong, as phones vary the time between frames."
    )
    parser.add_argument("film", metavar="FILM", help="an MP4, MOV or other film")
    parser.add_argument("--from", dest="start", type=float, metavar="S", help="from this time (s)")
    parser.add_argument("--to", dest="stop", type=float, metavar="S", help="to this time (s)")
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def run(args: argparse.Namespace) -> int:
    """Print the frame times and return the exit code."""
    import json

    from wayside.film.film import open_film
    from wayside.film.film_json import frames_as_json
    from wayside.film.film_text import frames_as_text

    with open_film(args.film) as film:
        first, stop = film.times.span(args.start, args.stop)
        if args.json:
            print(json.dumps(frames_as_json(film.info, first, stop), ensure_ascii=False))
        else:
            print("\n".join(frames_as_text(film.info, first, stop)))
    return 0
