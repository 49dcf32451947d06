"""The three looks as plain values; tests work out contrast and colour-blind safety from them.

Orange is always the hand, blue always the sound; the spectrogram is ink on paper, without hue.
"""

from __future__ import annotations

from dataclasses import dataclass

Rgb = tuple[int, int, int]


@dataclass(frozen=True)
class Look:
    """Colours of one look, ``#rrggbb``.

    Parameters
    ----------
    page, card, field : str
        Backgrounds: behind everything, of an area, of an entry.
    text, quiet : str
        Main text and secondary text on any of the three.
    rule : str
        Lines between things.
    hand, sound : str
        The two witnesses, good as text and as lines.
    agree, differ, unsure : str
        The verdict.
    fault : str
        Error text and borders.
    focus : str
        Border of what has the keyboard.
    paper, ink : str
        Softest and loudest tone of the spectrogram.
    """

    name: str
    page: str
    card: str
    field: str
    text: str
    quiet: str
    rule: str
    hand: str
    sound: str
    agree: str
    differ: str
    unsure: str
    fault: str
    focus: str
    paper: str
    ink: str

    @property
    def dark(self) -> bool:
        """True when text is lighter than its ground."""
        return sum(rgb(self.text)) > sum(rgb(self.card))


LIGHT = Look(
    name="light",
    page="#e9e6df",
    card="#fbfaf6",
    field="#ffffff",
    text="#1c2126",
    quiet="#535b63",
    rule="#b9b3a6",
    hand="#a64400",
    sound="#0a4fb5",
    agree="#0b6148",
    differ="#8f1046",
    unsure="#4c5560",
    fault="#a3122a",
    focus="#0a4fb5",
    paper="#fbfaf6",
    ink="#2a2d31",
)

DARK = Look(
    name="dark",
    page="#14171b",
    card="#1e2228",
    field="#14171b",
    text="#eceae4",
    quiet="#aab1b9",
    rule="#4a525b",
    hand="#ffa24d",
    sound="#7fb4ff",
    agree="#6fd6b1",
    differ="#ff8fb8",
    unsure="#c3c9d0",
    fault="#ff9a9a",
    focus="#7fb4ff",
    paper="#101317",
    ink="#d8d5cd",
)

HIGH_CONTRAST = Look(
    name="high contrast",
    page="#000000",
    card="#000000",
    field="#000000",
    text="#ffffff",
    quiet="#ffffff",
    rule="#ffffff",
    hand="#ffb14a",
    sound="#66d9ff",
    agree="#7dffc8",
    differ="#ffa6cf",
    unsure="#ffffff",
    fault="#ffb0b0",
    focus="#ffff66",
    paper="#000000",
    ink="#ffffff",
)

LOOKS: dict[str, Look] = {look.name: look for look in (LIGHT, DARK, HIGH_CONTRAST)}


def rgb(colour: str) -> Rgb:
    """Return ``#rrggbb`` as three numbers from 0 to 255."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def blend(first: str, second: str, share: float) -> str:
    """Return the mix with `share` of `second` (0 to 1)."""
    mixed = (round(a + (b - a) * share) for a, b in zip(rgb(first), rgb(second), strict=True))
    return "#{:02x}{:02x}{:02x}".format(*mixed)
