"""The examples in the docstrings of the scripting interface and in its guide, run as written."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from wayside import api
from wayside.errors import InputError
from wayside.measure.result import Measurement

GUIDE = Path(__file__).resolve().parents[2] / "docs" / "guide" / "notebook.md"


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return api.sample(tmp_path_factory.mktemp("sample"))


def test_every_example_in_the_docstrings_is_true(sample: tuple[Path, Path]) -> None:
    recording, setup = sample
    names = {"ws": api, "recording": recording, "setup": setup}
    # the examples of the functions go on from those of the module
    prediction = api.predict(setup)
    names |= {"prediction": prediction, "measurement": api.measure(recording, prediction)}
    ran = doctest.testmod(api, extraglobs=names, verbose=False)
    assert ran.failed == 0
    assert ran.attempted >= 16


def test_every_public_function_has_an_example() -> None:
    for name in api.__all__:
        text = getattr(api, name).__doc__
        assert ">>>" in text, name
        assert "Returns\n    -------" in text, name


def test_the_code_of_the_guide_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", GUIDE.read_text(encoding="utf-8"), flags=re.S)
    assert len(blocks) >= 5
    names: dict[str, object] = {}
    for block in blocks:
        exec(compile(block, str(GUIDE), "exec"), names)  # our own page, as a reader would run it
    measured = names["measurement"]
    assert isinstance(measured, Measurement)
    assert measured.found
    assert "agree within their uncertainties" in capsys.readouterr().out


def test_a_wrong_option_is_named(sample: tuple[Path, Path]) -> None:
    with pytest.raises(InputError, match="no such option among loudness; there are sound_speed"):
        api.measure(sample[0], loudness=3)


def test_a_prediction_from_a_dictionary_gives_the_published_pitches() -> None:
    # OpenStax College Physics 17.4: 150 Hz at 35.0 m/s in 340 m/s gives 167 and 136 Hz;
    # 340 m/s is the rule of thumb at 15 °C
    expected = api.predict(
        {
            "format": "wayside-setup",
            "version": 1,
            "motion": {"speed": {"value": 35.0, "unit": "m/s", "u": 0.5}},
            "source": {"kind": "tone", "pitch": {"value": 150.0, "unit": "Hz", "u": 0.1}},
            "air": {
                "formula": "rule-of-thumb",
                "temperature": {"value": 15.0, "unit": "°C", "u": 1.0},
            },
        }
    )
    assert expected.sound_speed_mps.value == pytest.approx(340.0)
    assert round(expected.approach_hz.value) == 167
    assert round(expected.recede_hz.value) == 136


def test_importing_it_loads_no_window_and_no_decoder() -> None:
    import subprocess
    import sys

    code = "import sys, wayside.api; assert not {'PySide6', 'av'} & set(sys.modules)"
    roots = str(Path(api.__file__).resolve().parents[1])
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={"PYTHONPATH": roots, "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
