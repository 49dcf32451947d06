"""The student's worksheet: the same data with blanks, the answers on pages of their own."""

from __future__ import annotations

from dataclasses import replace

from wayside.hand.predict import RESULTS, Prediction
from wayside.hand.sources.kind import CIRCLE, OBSERVER, SOURCE
from wayside.report.blocks import (
    BLANK,
    HAND,
    QUIET,
    SOUND,
    Block,
    FillIn,
    Formula,
    Para,
    Report,
    Section,
    Shown,
    Table,
    Worked,
)
from wayside.report.contents.by_hand import setup_section
from wayside.report.contents.by_sound import readings_of
from wayside.report.contents.cautions import cautions_section
from wayside.report.contents.class_runs import class_section
from wayside.report.contents.repeat import repeat_section
from wayside.report.contents.teacher import run_sections
from wayside.report.figures.spectrogram import spectrogram_figure
from wayside.report.material import Bundle, Material
from wayside.report.text import one_line

ANSWERS = "answers"
_ASKED = ("speed_mps", "source_hz", "approach_hz", "recede_hz")
_SPEED = Formula(
    r"v = c \times \frac{f_\mathrm{a} - f_\mathrm{r}}{f_\mathrm{a} + f_\mathrm{r}}",
    "v = c × (f_a − f_r) / (f_a + f_r)",
)
_HARMONIC_MEAN = Formula(
    r"f_0 = \frac{2 \times f_\mathrm{a} \times f_\mathrm{r}}{f_\mathrm{a} + f_\mathrm{r}}",
    "f₀ = 2 × f_a × f_r / (f_a + f_r)",
)
_MEAN = Formula(r"f_0 = \frac{f_\mathrm{a} + f_\mathrm{r}}{2}", "f₀ = (f_a + f_r) / 2")
_FROM_PITCHES = {
    SOURCE: (_SPEED, _HARMONIC_MEAN),
    CIRCLE: (_SPEED, _HARMONIC_MEAN),
    OBSERVER: (_SPEED, _MEAN),
}
"""How speed and source pitch follow from two far pitches alone, by who moves."""

_NOT_HALF_WAY = (
    "The source pitch is not half-way between the two pitches heard. On which side of the "
    "middle does it lie, and why?"
)
_HALF_WAY = (
    "The source pitch lies half-way between the two pitches heard. Why is that so for a moving "
    "listener, and not for a moving source?"
)
_QUESTIONS = (
    "Do hand and sound agree, within the uncertainties? How do you know?",
    "Which of your hand measurements would you repeat first, and why?",
    "What would you hear if the source went twice as fast?",
)


def student_worksheet(bundle: Bundle) -> Report:
    """Return the worksheet with its answers."""
    m = bundle.run
    sections: list[Section] = []
    if m.setup is not None:
        # without the measurement: the sound's own distance is an answer
        sections.append(setup_section(m.setup, None, "given"))
    if m.prediction is not None:
        sections.append(_predict(m.prediction))
    if m.picture is not None:
        sections.append(_listen(m))
    sections.append(_compare(m))
    sections.append(cautions_section(m))
    answers = [replace(s, key=f"{ANSWERS}-{s.key}") for s in run_sections(m)]
    if bundle.rows:
        answers.append(class_section(bundle.rows, f"{ANSWERS}-class"))
    note = Para("For the teacher: take these pages out before handing out the worksheet.")
    opening = Section(ANSWERS, "Answers", (note,), new_page=True)
    return Report(
        f"{one_line(m.title) or 'Pass-by'}: worksheet",
        _about(bundle),
        ("Name", "Group", "Date"),
        (*sections, opening, *answers, repeat_section(bundle)),
        ANSWERS,
    )


def _about(bundle: Bundle) -> tuple[str, ...]:
    lines = ["Predict the pitches from the hand measurements, then read them in the recording."]
    if bundle.run.recording is not None:
        lines.append(f"Recording: {one_line(bundle.run.recording.name)}")
    return tuple(lines)


def _predict(p: Prediction) -> Section:
    blocks: list[Block] = [Para("Put the numbers in, with their units, and work out each result.")]
    blocks += [Worked(s, open=True) for s in p.conversions]
    blocks += [Worked(s, k, open=True) for k, s in enumerate(p.steps, 1)]
    return Section("predict", "What do you expect?", tuple(blocks))


def _listen(m: Material) -> Section:
    assert m.picture is not None
    windows = readings_of(m.measurement)
    figure = spectrogram_figure(m.picture, None, windows, m.crossings, "worksheet-spectrogram")
    blocks: list[Block] = [
        Para(
            "Loud sound is dark. Follow the dark line from left to right: where it is level before "
            "the passing read the approach pitch, where it is level after it the recede pitch."
        ),
        Shown(figure),
        FillIn("Approach pitch f_a, read between the first pair of blue lines (Hz)"),
        FillIn("Recede pitch f_r, read between the second pair (Hz)"),
        FillIn("How far off may each reading be? (Hz)"),
    ]
    if not windows:
        blocks[2:4] = [FillIn("Approach pitch f_a (Hz)"), FillIn("Recede pitch f_r (Hz)")]
    formulas = _FROM_PITCHES.get(_mover(m), ())
    if formulas:
        blocks.append(Para("From these two pitches alone, with the speed of sound c:"))
    for formula in formulas:
        blocks += [formula, FillIn("with your numbers", 1)]
    return Section("listen", "What does the sound say?", tuple(blocks))


def _compare(m: Material) -> Section:
    blocks: list[Block] = []
    if m.prediction is not None and m.recording is not None:
        rows = tuple((RESULTS[n][0], BLANK, BLANK, BLANK, BLANK) for n in _ASKED)
        head = ("quantity", "by hand", "by sound", "difference", "do they agree?")
        blocks.append(Table("Side by side", head, rows, ("", HAND, SOUND, "", ""), frozenset({4})))
    blocks.append(Para("Answer in whole sentences.", QUIET))
    middle = {SOURCE: _NOT_HALF_WAY, CIRCLE: _NOT_HALF_WAY, OBSERVER: _HALF_WAY}.get(_mover(m))
    questions = (*_QUESTIONS, *filter(None, [middle]))
    blocks += [FillIn(question, 3) for question in questions]
    return Section("compare", "Do they agree?", tuple(blocks))


def _mover(m: Material) -> str:
    """Return who moves; without a set-up it is the source."""
    return SOURCE if m.setup is None else m.setup.kind.mover
