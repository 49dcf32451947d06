"""Frame times and exact frames, against films whose frames carry their own number."""

from __future__ import annotations

import struct
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from wayside.errors import Cancelled, InputError, MediaError
from wayside.film.film import open_film
from wayside.jobs import Job

Make = Callable[..., Path]


@pytest.mark.parametrize("kind", ["constant", "jittered", "gap"])
@pytest.mark.parametrize(("b_frames", "codec"), [(0, "libx264"), (3, "libx264"), (0, "libx265")])
def test_frame_times_are_those_written(
    tmp_path: Path, make_counting_film: Make, make_times, kind: str, b_frames: int, codec: str
) -> None:
    times = make_times(kind)
    path = make_counting_film(tmp_path / "a.mp4", times, b_frames=b_frames, codec=codec)
    with open_film(path) as film:
        np.testing.assert_allclose(film.times.seconds, times, atol=1e-9)
        assert film.info.codec in ("h264", "hevc")
        assert film.times.is_key[0]
        assert any("missing" in n for n in film.info.notes) == (kind == "gap")


@pytest.mark.parametrize("b_frames", [0, 3])
@pytest.mark.parametrize("order", ["forward", "backward", "random"])
def test_any_order_gives_the_frame_asked_for(
    tmp_path: Path, make_counting_film: Make, make_times, read_number, order: str, b_frames: int
) -> None:
    times = make_times("jittered")
    path = make_counting_film(tmp_path / "a.mp4", times, b_frames=b_frames, key_every=12)
    indices = list(range(len(times)))
    if order == "backward":
        indices.reverse()
    elif order == "random":
        np.random.default_rng(0).shuffle(indices)
    # Room for few frames, so that they must be decoded again and again.
    with open_film(path, limit_bytes=20 * 96 * 192 * 3) as film:
        for index in indices:
            picture = film.picture(index)
            assert read_number(picture.rgb) == index
            assert picture.time_s == pytest.approx(times[index], abs=1e-9)
            assert film.used_bytes <= 20 * 96 * 192 * 3


def test_sound_that_starts_first_moves_no_frame(
    tmp_path: Path, make_counting_film: Make, make_times, read_number
) -> None:
    times = make_times("jittered") + 0.5
    path = make_counting_film(tmp_path / "a.mp4", times, sound=(0.1, 2.0), b_frames=2)
    with open_film(path) as film:
        np.testing.assert_allclose(film.times.seconds, times, atol=2e-5)
        assert film.info.sound is not None
        assert film.info.sound.start_s == pytest.approx(0.1 - 1024 / 48_000, abs=1e-3)
        assert read_number(film.picture(40).rgb) == 40


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_rotation_is_applied(
    tmp_path: Path, make_film: Make, make_times, drive, turns: int
) -> None:
    path = make_film(tmp_path / "a.mp4", drive(), make_times("constant", 0.5), turns=turns)
    with open_film(path) as film:
        assert (film.info.width, film.info.height) == (320, 180)
        assert film.info.rotation_deg == 90 * turns
        rgb = film.picture(0).rgb
        assert rgb.shape == (180, 320, 3)
        corner = rgb[5:15, 5:15].mean(axis=(0, 1))
        assert corner[0] > 150
        assert corner[1] < 100


def test_rotation_matrix_of_the_file_format(
    tmp_path: Path, make_film: Make, make_times, drive
) -> None:
    """ISO/IEC 14496-12 track matrix (a b u c d v x y w): x' = a x + c y, y' = b x + d y.

    (0 1 -1 0) takes the x axis to the y axis (down), a quarter turn clockwise: what is top
    left when stored is top right when shown.
    """
    path = make_film(tmp_path / "a.mp4", drive(), make_times("constant", 0.5))
    data = bytearray(path.read_bytes())
    matrix = data.index(b"tkhd") + 4 + 40
    one = 1 << 16
    struct.pack_into(">9i", data, matrix, 0, one, 0, -one, 0, 0, 180 * one, 0, 1 << 30)
    path.write_bytes(data)
    with open_film(path) as film:
        assert (film.info.width, film.info.height) == (180, 320)
        rgb = film.picture(0).rgb
        assert rgb[5:15, -15:-5, 0].mean() > 150
        assert rgb[5:15, -15:-5, 1].mean() < 100


def test_large_pictures_are_shrunk_for_display(
    tmp_path: Path, make_film: Make, make_times, drive
) -> None:
    path = make_film(tmp_path / "a.mp4", drive(), make_times("constant", 0.5), turns=1)
    with open_film(path, longest_side=160) as film:
        picture = film.picture(3)
        assert picture.rgb.shape == (90, 160, 3)
        assert picture.shrink == pytest.approx(0.5)
        assert film.info.width == 320


def test_neighbours_become_ready_by_themselves(
    tmp_path: Path, make_counting_film: Make, make_times
) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant"), key_every=30)
    with open_film(path) as film:
        ready: list[int] = []
        film.when_ready(ready.append)
        assert film.peek(45) is None
        film.prepare(45)
        deadline = time.monotonic() + 5
        while time.monotonic() < deadline and not {*range(33, 58)} <= set(ready):
            time.sleep(0.01)
        assert ready[0] == 45
        assert all(film.peek(k) is not None for k in range(33, 58))


def test_many_threads_each_get_their_frames(
    tmp_path: Path, make_counting_film: Make, make_times, read_number
) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant"), key_every=10)
    wrong: list[int] = []
    with open_film(path, limit_bytes=16 * 96 * 192 * 3) as film:

        def ask(seed: int) -> None:
            for index in np.random.default_rng(seed).integers(0, 75, 20).tolist():
                if read_number(film.picture(index).rgb) != index:
                    wrong.append(index)

        threads = [threading.Thread(target=ask, args=(k,)) for k in range(3)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert wrong == []


def test_closing_leaves_nothing_behind(
    tmp_path: Path, make_counting_film: Make, make_times
) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant", 0.5))
    before = threading.active_count()
    film = open_film(path)
    film.prepare(3)
    film.close()
    assert threading.active_count() == before
    with pytest.raises(MediaError, match="was closed"):
        film.picture(9)


def test_no_such_frame(tmp_path: Path, make_counting_film: Make, make_times) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant", 0.5))
    with open_film(path) as film, pytest.raises(InputError, match="frames 0 to 14"):
        film.picture(15)


def test_cancelled_opening(tmp_path: Path, make_counting_film: Make, make_times) -> None:
    path = make_counting_film(tmp_path / "a.mp4", make_times("constant", 0.5))
    with pytest.raises(Cancelled):
        open_film(path, job=Job(cancelled=lambda: True))
