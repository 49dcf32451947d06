"""What can hurt, on every report and worksheet."""

from __future__ import annotations

from wayside.plan.advice import FAST_MPS, cautions
from wayside.report.blocks import CAUTION, Items, Para, Section
from wayside.report.material import Material


def cautions_section(m: Material, key: str = "cautions") -> Section:
    """Return the cautions."""
    p = m.prediction
    wheel = m.setup is not None and m.setup.kind.measure_as == "wheel"
    fast = p is not None and p.speed_mps.value > FAST_MPS
    return Section(
        key,
        "Before anybody rides",
        (
            Para("Read this aloud before the demonstration is repeated.", CAUTION),
            Items(cautions(loud=not wheel, fast=fast)),
        ),
    )
