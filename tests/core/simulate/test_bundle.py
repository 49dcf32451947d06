"""The bundled samples are what the script makes, and their set-ups agree with their truth."""

from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pytest

from wayside.errors import InputError
from wayside.hand.predict import predict
from wayside.hand.setup_file import read_setup
from wayside.simulate.bundle import DEMO, STANDING_SIREN, main, make_all, make_bundle
from wayside.simulate.presets import PRESETS

MEDIA = Path(__file__).resolve().parents[3] / "sample_media"


def _sound(path: Path) -> np.ndarray:
    with av.open(str(path)) as container:
        blocks = [frame.to_ndarray() for frame in container.decode(audio=0)]
    return np.concatenate(blocks, axis=1).astype(float)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("media")
    make_all(folder)
    return folder


def test_stored_samples_are_those_the_script_makes(made: Path) -> None:
    stored = {p.name for p in MEDIA.iterdir()} - {"README.md"}
    assert stored == {p.name for p in made.iterdir()}
    for name in stored:
        if name.endswith(".json"):
            old_facts, new_facts = (
                json.loads((folder / name).read_text("utf-8")) for folder in (MEDIA, made)
            )
            assert _close(old_facts, new_facts), name
        else:
            # codecs and transforms may round otherwise in another version
            old, new = _sound(MEDIA / name), _sound(made / name)
            assert old.shape == new.shape
            assert np.corrcoef(old[0], new[0])[0, 1] > 0.999, name


def _close(a: object, b: object) -> bool:
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(_close(a[k], b[k]) for k in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(_close, a, b))
    if isinstance(a, float) and isinstance(b, float):
        return bool(np.isclose(a, b, rtol=1e-9, atol=1e-12))
    return a == b


def test_all_samples_stay_under_five_megabytes() -> None:
    assert sum(p.stat().st_size for p in MEDIA.iterdir()) < 5_000_000


@pytest.mark.parametrize("name", PRESETS)
def test_prediction_from_the_set_up_agrees_with_the_truth(name: str) -> None:
    prediction = predict(read_setup(MEDIA / f"{name}.setup.json"))
    (path,) = MEDIA.glob(f"{name}.*.truth.json")
    facts = json.loads(path.read_text("utf-8"))
    for key in ("speed_mps", "source_hz", "approach_hz", "recede_hz", "sound_speed_mps"):
        predicted = getattr(prediction, key)
        assert abs(predicted.value - facts[key]["value"]) < 2 * predicted.u, key


def test_film_sample_shows_the_frames_its_truth_names() -> None:
    facts = json.loads((MEDIA / "courtyard-film.mp4.truth.json").read_text("utf-8"))["film"]
    with av.open(str(MEDIA / "courtyard-film.mp4")) as film:
        times = [frame.time for frame in film.decode(video=0)]
    assert len(times) == facts["frames"]
    for crossing in facts["crossings"]:
        index = crossing["first_frame"]
        assert times[index] == pytest.approx(crossing["first_frame_time_s"], abs=1e-6)
        assert times[index - 1] < crossing["time_s"] <= times[index]


def test_standing_siren_claims_no_pass_by() -> None:
    facts = json.loads((MEDIA / f"{STANDING_SIREN}.flac.truth.json").read_text("utf-8"))
    assert facts["found"] is False


def test_making_one_bundle_replaces_nothing_unasked(tmp_path: Path) -> None:
    bundle = make_bundle(DEMO, tmp_path)
    assert bundle.recording.exists()
    assert bundle.setup.exists()
    assert bundle.truth.exists()
    bundle.setup.write_text("mine")
    with pytest.raises(InputError, match="exists"):
        make_bundle(DEMO, tmp_path)
    bundle.recording.unlink()
    bundle.truth.unlink()
    with pytest.raises(InputError, match="exists"):
        make_bundle(DEMO, tmp_path)
    assert bundle.setup.read_text() == "mine"


def test_script_says_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "taken").write_text("")
    assert main([str(tmp_path / "taken")]) == 2
    assert "cannot be made" in capsys.readouterr().err
