"""What is done with a damaged file, and what counts as a good end."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np

from wayside.errors import InputError
from wayside.film.film import open_film
from wayside.hand.predict import predict
from wayside.hand.prediction_json import prediction_as_json
from wayside.hand.prediction_text import prediction_as_text
from wayside.hand.setup_file import read_setup, write_setup
from wayside.session.document import is_session_file, read_session, write_session
from wayside.sound.media import load_recording

READ, REFUSED = "read", "refused"
LONGEST_SENTENCE = 700


class Fault(AssertionError):
    """A damaged file ended badly."""


def check_sentence(error: InputError, path: Path) -> None:
    """Raise `Fault` unless the error is text for people: one line, whole, printable, no folders."""
    text = str(error)
    if not text.rstrip().endswith(".") or "\n" in text or "Traceback" in text:
        raise Fault(f"not one whole sentence: {text!r}")
    if not text.isprintable() or len(text) > LONGEST_SENTENCE:
        raise Fault(f"not fit to be shown: {text!r}")
    if str(path.parent) in text:
        raise Fault(f"shows a folder: {text!r}")


def setup(path: Path) -> str:
    """Read a set-up, predict from it, show it in every form, write it and read it again."""
    try:
        found = read_setup(path)
        prediction = predict(found)
    except InputError as error:
        check_sentence(error, path)
        return REFUSED
    prediction_as_text(prediction).encode()
    json.dumps(prediction_as_json(prediction), allow_nan=False).encode()
    for name in prediction.budget:
        value = getattr(prediction, name)
        if not (math.isfinite(value.value) and math.isfinite(value.u) and value.u >= 0):
            raise Fault(f"{name} is {value}")
    again = path.with_suffix(".again")
    write_setup(found, again)
    if read_setup(again) != found:
        raise Fault("written and read again, the set-up has changed")
    return READ


def session(path: Path) -> str:
    """Read a session, write it and read it again."""
    is_session_file(path)
    try:
        found = read_session(path)
    except InputError as error:
        check_sentence(error, path)
        return REFUSED
    again = path.with_suffix(".again")
    write_session(found, again)
    if read_session(again) != found:
        raise Fault("written and read again, the session has changed")
    return READ


def sound(path: Path) -> str:
    """Decode the sound of any file, whole."""
    try:
        recording = load_recording(path)
    except InputError as error:
        check_sentence(error, path)
        return REFUSED
    samples = recording.mono()
    if not (np.isfinite(samples).all() and math.isfinite(recording.start_s)):
        raise Fault("the recording holds what is no number")
    for note in recording.notes:
        check_sentence(InputError(note), path)
    return READ


def film(path: Path) -> str:
    """Open any file as a film and look at its first, middle and last picture."""
    try:
        with open_film(path, longest_side=320) as opened:
            if not np.isfinite(opened.times.seconds).all():
                raise Fault("a frame's time is no number")
            n = len(opened.times)
            for index in {0, n // 2, n - 1}:
                _look(opened.picture, index, path)
    except InputError as error:
        check_sentence(error, path)
        return REFUSED
    return READ


def _look(picture: Callable[[int], object], index: int, path: Path) -> None:
    try:
        picture(index)
    except InputError as error:
        check_sentence(error, path)


TARGETS: dict[str, Callable[[Path], str]] = {
    "setup": setup, "session": session, "sound": sound, "film": film,
}  # fmt: skip
TEXT_TARGETS = ("setup", "session")
