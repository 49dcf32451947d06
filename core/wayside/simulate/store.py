"""Write a simulated recording or film with its truth beside it, whole or not at all."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.simulate.film import FilmOptions, write_aac, write_film
from wayside.simulate.render import render, source_motion
from wayside.simulate.scene import Scene
from wayside.simulate.truth import film_truth, truth

SOUND_SUFFIXES = (".wav", ".flac", ".ogg", ".mp3", ".m4a")
FILM_SUFFIXES = (".mp4", ".mov")
_AAC_RATES = (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 64000, 88200, 96000)
_PEAK = 0.9


def truth_path(path: Path) -> Path:
    """Return the path of the truth beside a simulated recording."""
    return path.with_name(path.name + ".truth.json")


def make_sample(
    path: Path,
    scene: Scene,
    seed: int = 0,
    film: FilmOptions | None = None,
    sound_bits_per_s: int = 128_000,
    force: bool = False,
    job: Job = QUIET,
) -> dict[str, Any]:
    """Render `scene` to `path` and its truth to ``path + ".truth.json"``.

    Sound that would pass full scale is turned down as a whole.

    Parameters
    ----------
    path : Path
        Ends in one of `SOUND_SUFFIXES`, or `FILM_SUFFIXES` for a film.
    scene, seed : Scene, int
        What is rendered.
    film : FilmOptions or None
        How the film is made; a film suffix without options takes the defaults.
    sound_bits_per_s : int
        Bit rate of .m4a sound.
    force : bool
        Whether files of these names may be replaced.
    job : Job
        Progress and cancelling; a cancelled job leaves no file behind.

    Returns
    -------
    dict
        The truth as written.
    """
    suffix = path.suffix.lower()
    _check_target(path, suffix, scene, film, force)
    if film is None and suffix in FILM_SUFFIXES:
        film = FilmOptions()
    sound = render(scene, seed, job.part(0.0, 0.4))
    peak = float(np.max(np.abs(sound), initial=0.0))
    if peak > _PEAK and scene.recorder.clip_at is None:
        sound = sound * np.float32(_PEAK / peak)
    facts = truth(scene, seed)
    with _staged(path) as staged:
        if film is not None:
            motion = source_motion(scene.sources[0], 0, seed)
            times = write_film(staged, sound, scene.rate_hz, motion, film, seed, job.part(0.4, 1.0))
            facts["film"] = film_truth(motion, film, times)
        else:
            write_sound(staged, sound, scene.rate_hz, sound_bits_per_s)
        job.step(1.0, "written")
    text = json.dumps(facts, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    with _staged(truth_path(path)) as staged:
        staged.write_text(text, encoding="utf-8")
    return facts


def _check_target(
    path: Path, suffix: str, scene: Scene, film: FilmOptions | None, force: bool
) -> None:
    allowed = FILM_SUFFIXES if film is not None else SOUND_SUFFIXES + FILM_SUFFIXES
    if suffix not in allowed:
        raise InputError(
            f"{path.name} does not end in a kind of file that can be written; "
            f"use {', '.join(allowed)}."
        )
    if not path.parent.is_dir():
        raise InputError(f"There is no folder {path.parent}; make it first or name another.")
    for target in (path, truth_path(path)):
        if target.is_dir():
            raise InputError(f"{target} is a folder; name a file.")
        if target.exists() and not force:
            raise InputError(f"{target} exists; name another file, or add --force to replace it.")
    if scene.rate_hz != int(scene.rate_hz):
        raise InputError(
            f"Files hold whole numbers of samples a second, not {scene.rate_hz:g}; use 48000."
        )
    if suffix in (*FILM_SUFFIXES, ".m4a") and scene.rate_hz not in _AAC_RATES:
        raise InputError(
            f"Films and .m4a files cannot hold {scene.rate_hz:g} samples a second; "
            "use 44100 or 48000."
        )
    if suffix == ".mp3" and scene.rate_hz not in (*_AAC_RATES[:8], 48000):
        raise InputError(
            f"MP3 files cannot hold {scene.rate_hz:g} samples a second; use 44100 or 48000."
        )


@contextmanager
def _staged(path: Path) -> Iterator[Path]:
    """Give a passing name beside `path` that takes its place only when all went well."""
    try:
        handle, name = tempfile.mkstemp(prefix=".", suffix=path.suffix, dir=path.parent)
    except OSError as error:
        raise _cannot_write(path.parent, error) from error
    os.close(handle)
    part = Path(name)
    try:
        yield part
        part.chmod(0o666 & ~_umask())
        part.replace(path)
    except OSError as error:
        raise _cannot_write(path, error) from error
    finally:
        with suppress(OSError):
            part.unlink()


def _cannot_write(place: Path, error: OSError) -> InputError:
    return InputError(
        f"{place} cannot be written ({error.strerror or error}); "
        "choose another place or make room there."
    )


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def write_sound(
    path: Path, sound: npt.NDArray[np.float32], rate_hz: float, bits_per_s: int = 128_000
) -> None:
    """Write sound of shape (n_samples, n_channels) in the kind of file its name asks for."""
    suffix = path.suffix.lower()
    if suffix == ".m4a":
        write_aac(path, sound, rate_hz, bits_per_s)
        return
    import soundfile

    kinds = {".wav": ("WAV", "PCM_24"), ".flac": ("FLAC", "PCM_16")}
    coded, subtype = kinds.get(suffix, (suffix[1:].upper(), None))
    soundfile.write(str(path), sound, int(rate_hz), format=coded, subtype=subtype)
