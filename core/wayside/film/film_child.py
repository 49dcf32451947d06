"""Child process that decodes a film: ``python -m wayside.film.film_child FILE REQUEST``.

REQUEST is JSON. ``{"serve": LONGEST_SIDE}`` keeps the film open and takes commands, one a line
of JSON: ``{"first": i, "stop": j}`` for frames ``i .. j - 1``, ``{"halt": true}`` to end such a
run early. ``{"scan": lines, "width": w, "first": i, "stop": j}`` samples the
brightness around marker lines, each ``[x1, y1, x2, y2]``, and ends.

Messages, by tag: G progress, I information, T time stamps, K key flags, P a picture, N a row of
samples, D the end of a run, X an error's sentence.
"""

from __future__ import annotations

import json
import queue
import struct
import sys
import threading
from pathlib import Path
from typing import Any

import numpy as np

from wayside.decoding import medialib
from wayside.decoding.child import limit_memory
from wayside.decoding.framing import write_json, write_message
from wayside.decoding.opening import cannot_open, cut_short
from wayside.errors import MediaError
from wayside.film.geometry import Line, Point
from wayside.film.messages import send_picture
from wayside.film.sampling import sample, strip_points
from wayside.film.source import PictureSource, choose_track
from wayside.jobs import Job

MEMORY_LIMIT_BYTES = 6 * 2**30
_HALT = "halt"


def main() -> int:
    """Open the film and do what the request says."""
    limit_memory(MEMORY_LIMIT_BYTES)
    path, request = Path(sys.argv[1]), json.loads(sys.argv[2])
    out = sys.stdout.buffer
    try:
        _work(path, request, out)
    except BrokenPipeError:
        return 1
    except MemoryError:
        write_message(
            out, b"X",
            f"“{path.name}” asks for more memory than a film needs; it is damaged: copy it "
            f"again.".encode(),
        )  # fmt: skip
    except MediaError as error:
        write_message(out, b"X", str(cut_short(path) or error).encode())
    except medialib.MediaLibraryError:
        write_message(out, b"X", str(cannot_open(path, is_film=True)).encode())
    return 0


def _work(path: Path, request: dict[str, Any], out: Any) -> None:
    with medialib.open_media(path) as container:
        track = choose_track(container, path.name)
        job = Job(report=lambda fraction, words: write_json(out, b"G", [fraction, words]))
        source = PictureSource(container, track, path.name, job)
        if "scan" in request:
            _scan(source, request, out)
        else:
            _describe(container, source, track, path.name, out)
            _serve(source, int(request["serve"]), out)


def _describe(
    container: Any, source: PictureSource, track: medialib.Track, name: str, out: Any
) -> None:
    first = next((picture for _, picture in source.frames(0, len(source.times))), None)
    if first is None:
        raise MediaError(
            f"The pictures of “{name}” cannot be decoded; export the film as MP4 (H.264) and open "
            f"that."
        )
    turns = medialib.quarter_turns(first)
    size = [first.width, first.height]
    sounds = [t for t in medialib.tracks(container) if t.kind == "sound"]
    sound = next((t for t in sounds if t.codec), sounds[0] if sounds else None)
    write_message(out, b"T", source.times.ticks.astype("<i8").tobytes())
    write_message(out, b"K", source.times.is_key.astype(np.uint8).tobytes())
    write_json(
        out,
        b"I",
        {
            "codec": track.codec,
            "width": size[turns % 2],
            "height": size[1 - turns % 2],
            "rotation_deg": 90 * turns,
            "time_base": [track.time_base.numerator, track.time_base.denominator],
            "stated_fps": source.stated_fps,
            "sound": [medialib.sound_start_s(container, sound), sound.duration_s]
            if sound
            else None,
            "claimed_s": track.duration_s,
            "n_damaged": source.n_damaged,
            "n_doubled": source.n_doubled,
        },
    )


def _serve(source: PictureSource, longest_side: int, out: Any) -> None:
    commands: queue.Queue[dict[str, Any] | None] = queue.Queue()
    threading.Thread(target=_hear, args=(commands,), daemon=True).start()
    while (command := commands.get()) is not None:
        if _HALT in command:
            continue
        for index, picture in source.frames(command["first"], command["stop"]):
            rgb = medialib.as_rgb(picture, longest_side)
            send_picture(out, index, rgb, max(picture.width, picture.height))
            if not commands.empty():
                break
        write_message(out, b"D")


def _hear(commands: queue.Queue[dict[str, Any] | None]) -> None:
    for line in sys.stdin:
        commands.put(json.loads(line))
    commands.put(None)


def _scan(source: PictureSource, request: dict[str, Any], out: Any) -> None:
    lines = [Line(Point(*ends[:2]), Point(*ends[2:])) for ends in request["scan"]]
    strips = [strip_points(line, request["width"]).reshape(-1, 2) for line in lines]
    points = np.concatenate(strips)
    for index, picture in source.frames(request["first"], request["stop"]):
        row = sample(medialib.as_grey(picture), points)
        write_message(out, b"N", struct.pack("<I", index), row.tobytes())
    write_message(out, b"D")


if __name__ == "__main__":
    sys.exit(main())
