"""The sheet "Plan a demonstration": form at the left, verdict, pictures and tables at the right."""

from __future__ import annotations

import math
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QWidget

from wayside.errors import WaysideError
from wayside.plan.make import make_plan
from wayside.plan.picture import write_svg
from wayside.plan.plan_text import plan_as_text
from wayside.plan.result import Plan
from wayside.session.plan_form import plan_from, read_plan
from wayside.session.session import Session
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.controls import restyle
from wayside_app.window.edits import EditSession
from wayside_app.window.pages.page import Page
from wayside_app.window.pages.sheet_table import SheetTable
from wayside_app.window.plan import rows
from wayside_app.window.plan.curve_picture import CurvePicture
from wayside_app.window.plan.plan_form import PlanForm
from wayside_app.window.plan.track_picture import TrackPicture
from wayside_app.window.words import said, said_columns


class PlanPage(Page):
    """Plans a demonstration that will work."""

    needs_room = True

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(self.tr("Plan a demonstration"), "", "", parent)
        self._bench = bench
        self.plan: Plan | None = None
        self.form = PlanForm(bench, self)
        self.form.take_wanted.connect(self.take_over)
        self.whole.removeWidget(self.scroller)
        across = QHBoxLayout()
        across.addWidget(self.form)
        across.addWidget(self.scroller, 1)
        self.whole.addLayout(across, 1)
        self.headline = self.words("finding")
        self.example = self.words(
            "quiet", self.tr("This is an example with usual values; type your own at the left.")
        )
        self.warnings = self.words()
        buttons = QHBoxLayout()
        self.copy_text = QPushButton(self.tr("Copy as text"), self)
        self.copy_text.clicked.connect(self._copy_text)
        self.save_picture = QPushButton(self.tr("Save the picture …"), self)
        self.save_picture.clicked.connect(self._ask_picture)
        self.safety = self.words("caution")
        self.track = TrackPicture(self)
        self.curve = CurvePicture(self)
        self.column.addWidget(self.track)
        self.column.addWidget(self.curve)
        self.offset = self.words("why")
        self._heading_pitches = self.heading(self.tr("What will be heard"))
        self.pitches = self._table(
            self.tr("What will be heard"),
            (
                self.tr("speed", "column"),
                self.tr("source (Hz)"),
                self.tr("approach"),
                self.tr("recede"),
                self.tr("up"),
                self.tr("down"),
                self.tr("drop"),
                self.tr("semitones"),
                self.tr("cents"),
                self.tr("noticeable steps"),
            ),
        )
        self.audible = self.words("quiet")
        self._heading_windows = self.heading(self.tr("Where the far pitches can be read"))
        self.windows = self._table(
            self.tr("Where the far pitches can be read"),
            (
                self.tr("speed", "column"),
                self.tr("approach window"),
                self.tr("recede window"),
                self.tr("needed"),
                self.tr("glide lasts"),
                self.tr("error of speed read there"),
            ),
        )
        self._heading_camera = self.heading("")
        self.camera = self._table(
            self.tr("Markers and camera"),
            (self.tr("camera"), self.tr("markers apart"), self.tr("reached with yours")),
        )
        self.frames = self.words("why")
        for button in (self.copy_text, self.save_picture):
            buttons.addWidget(button)
        buttons.addStretch(1)
        self.column.addLayout(buttons)
        self.column.addStretch(1)

    def restyle(self) -> None:
        self.form.set_size(self.points)
        for part in (self.track, self.curve, self.pitches, self.windows, self.camera):
            part.set_look(self.look, self.points)

    def refresh(self) -> None:
        reading = read_plan(self._bench.session)
        self.form.show_reading(reading)
        self.plan = None if reading.request is None else make_plan(reading.request)
        plan = self.plan
        for part in (
            self.example,
            self.warnings,
            self.safety,
            self.track,
            self.curve,
            self.offset,
            self._heading_pitches,
            self.pitches,
            self.audible,
            self._heading_windows,
            self.windows,
            self._heading_camera,
            self.camera,
            self.frames,
            self.copy_text,
            self.save_picture,
        ):
            part.setVisible(plan is not None)
        if plan is None:
            self.headline.setText(
                self.tr("One entry at the left cannot be used yet; it says what to do.")
            )
            restyle(self.headline, tone="unsure")
            return
        self._show_verdict(plan, reading.usual)
        self._show_plan(plan)

    def first_stop(self) -> QWidget:
        return next(iter(self.form.rows().values())).value

    def take_over(self) -> None:
        """Plan with the source, speed and distance of the form, as one undo step."""
        bench = self._bench
        if bench.prediction is None:
            return
        session = plan_from(bench.session, bench.prediction)
        if session is None:
            self.form.advice.setText(
                self.tr("Only a source that moves past a microphone at rest can be planned.")
            )
            return
        self._push(session)

    def write_picture(self, path: Path) -> bool:
        """Write the picture of the plan; False, with a fault shown, when it cannot be."""
        if self.plan is None:
            return False
        try:
            write_svg(self.plan, path)
        except WaysideError as error:
            self.form.advice.setText(said(str(error)))
            return False
        return True

    def _push(self, session: Session) -> None:
        bench = self._bench
        name = self.tr("plan from the form")
        bench.undo_stack.push(EditSession(bench, name, session, ""))

    def _show_verdict(self, plan: Plan, usual: bool) -> None:
        n = len(plan.warnings)
        if n:
            text = (
                self.tr("One thing will not work yet")
                if n == 1
                else self.tr("{n} things will not work yet").format(n=n)
            )
            restyle(self.headline, tone="differ")
            self.headline.setText("✗ " + text)
        else:
            restyle(self.headline, tone="agree")
            self.headline.setText("✓ " + self.tr("This demonstration should work"))
        self.example.setVisible(usual)
        self.warnings.setText("\n".join(f"•  {said(w)}" for w in plan.warnings))
        self.warnings.setVisible(bool(n))
        self.safety.setText("⚠ " + " ".join(said(s) for s in plan.safety))

    def _show_plan(self, plan: Plan) -> None:
        r, o = plan.request, plan.offset
        self.track.show_plan(plan)
        self.curve.show_plan(plan)
        if o.best_m is None:
            self.offset.setText(said(o.reason))
        else:
            self.offset.setText(
                self.tr(
                    "Microphone: {near} to {far} m from the track, best about {best} m. {why}"
                ).format(
                    near=figures.plain(o.nearest_m, 1),
                    far=figures.plain(o.furthest_m, 1),
                    best=figures.plain(o.best_m, 1),
                    why=said(o.reason),
                )
            )
        self.pitches.show_rows(rows.pitch_rows(plan))
        self.audible.setText(
            self.tr(
                "A step of about 0.3 % is just noticed; the drop is obvious to a class from about "
                "{v} m/s."
            ).format(v=figures.plain(plan.audible_speed_mps, 1))
        )
        self.windows.show_rows(rows.window_rows(plan))
        self._heading_camera.setText(
            self.tr("How far apart the markers must be for {p} % of {v} m/s").format(
                p=figures.general(r.wanted_percent), v=figures.general(r.speed_high_mps, 3)
            )
        )
        self.camera.show_rows(rows.camera_rows(plan))
        self.frames.setText(self._frames_needed(plan))
        self.frames.setVisible(plan.frame_rate_needed is not None)

    def _frames_needed(self, plan: Plan) -> str:
        needed, apart = plan.frame_rate_needed, plan.request.markers_m
        if needed is None or apart is None:
            return ""
        if not math.isfinite(needed):
            return self.tr("With these markers the tape alone is too uncertain for any camera.")
        return self.tr(
            "With markers {m} m apart the camera needs at least {n} frames a second."
        ).format(m=figures.general(apart), n=figures.plain(needed, 0))

    def _copy_text(self) -> None:
        if self.plan is not None:
            self.copy(said_columns(plan_as_text(self.plan)))

    def _ask_picture(self) -> None:
        path, _ = QFileDialog.getSaveFileName(
            self, self.tr("Save the picture"), "plan.svg", self.tr("Pictures (*.svg)")
        )
        if path:
            self.write_picture(Path(path))

    def _table(self, name: str, columns: tuple[str, ...]) -> SheetTable:
        table = SheetTable(name, columns)
        self.column.addWidget(table)
        return table
