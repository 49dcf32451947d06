"""Turning a look into Qt's palette, fonts and style sheet."""

from __future__ import annotations

from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication

from wayside_app.window.theme.looks import Look, blend

BODY_PT = 11.0
_STYLED = "wayside_styled"


def apply_look(app: QApplication, look: Look, text_scale: float = 1.0) -> None:
    """Give the whole program a look and a text size (1 is 100 %).

    What it has already is not given again: every widget would be worked over.
    """
    sheet = style_sheet(look, text_scale)
    points = BODY_PT * text_scale
    if app.styleSheet() == sheet and app.font().pointSizeF() == points:
        return
    if not app.property(_STYLED):
        # once is enough: a new style has every widget worked over
        app.setStyle("Fusion")
        app.setProperty(_STYLED, True)
    app.setPalette(palette(look))
    font = QFont(app.font())
    font.setPointSizeF(points)
    app.setFont(font)
    app.setStyleSheet(sheet)


def palette(look: Look) -> QPalette:
    """Return Qt's palette for a look."""
    p = QPalette()
    role = QPalette.ColorRole
    for which, colour in (
        (role.Window, look.page),
        (role.Base, look.field),
        (role.AlternateBase, blend(look.card, look.text, 0.05)),
        (role.Button, blend(look.card, look.text, 0.07)),
        (role.Text, look.text),
        (role.WindowText, look.text),
        (role.ButtonText, look.text),
        (role.ToolTipBase, look.card),
        (role.ToolTipText, look.text),
        (role.PlaceholderText, look.quiet),
        (role.Highlight, look.sound),
        (role.HighlightedText, look.card),
        (role.Link, look.sound),
        (role.LinkVisited, look.sound),
        (role.Light, blend(look.card, "#ffffff", 0.3)),
        (role.Mid, look.rule),
        (role.Dark, look.rule),
        (role.BrightText, look.fault),
    ):
        p.setColor(which, QColor(colour))
    off = QColor(blend(look.quiet, look.card, 0.35))
    for which in (role.Text, role.WindowText, role.ButtonText):
        p.setColor(QPalette.ColorGroup.Disabled, which, off)
    return p


def style_sheet(look: Look, scale: float) -> str:
    """Return the style sheet; widgets choose a part with the ``part`` property."""

    def pt(size: float) -> str:
        return f"font-size: {size * scale:.1f}pt;"

    hand_wash = blend(look.card, look.hand, 0.10)
    sound_wash = blend(look.card, look.sound, 0.10)
    return f"""
    QWidget[part="card"] {{ background: {look.card}; border: 1px solid {look.rule};
        border-radius: 8px; }}
    QLabel {{ background: transparent; border: none; }}
    QLabel[part="number-hand"], QLabel[part="number-sound"], QLabel[part="number-both"] {{
        {pt(14)} font-weight: bold; color: {look.card}; border-radius: 4px;
        padding: 1px 8px; }}
    QLabel[part="number-hand"] {{ background: {look.hand}; }}
    QLabel[part="number-sound"] {{ background: {look.sound}; }}
    QLabel[part="number-both"] {{ background: {look.text}; }}
    QLabel[part="title"] {{ {pt(13)} font-weight: bold; color: {look.text}; }}
    QLabel[part="group"] {{ {pt(12)} font-weight: bold; color: {look.hand}; }}
    QLabel[part="quiet"] {{ {pt(10)} color: {look.quiet}; }}
    QLabel[part="fault"] {{ {pt(10.5)} color: {look.fault}; font-weight: bold; }}
    QLabel[part="verdict"] {{ {pt(20)} font-weight: bold; color: {look.text}; }}
    QLabel[part="caution"] {{ color: {look.text}; border-left: 4px solid {look.fault};
        padding-left: 6px; }}
    QLabel[part="finding"] {{ {pt(14)} font-weight: bold; color: {look.text}; }}
    QLabel[part="finding"][tone="agree"] {{ color: {look.agree}; }}
    QLabel[part="finding"][tone="differ"] {{ color: {look.differ}; }}
    QLabel[part="verdict"][tone="agree"] {{ color: {look.agree}; }}
    QLabel[part="verdict"][tone="differ"] {{ color: {look.differ}; }}
    QLabel[part="verdict"][tone="unsure"] {{ color: {look.unsure}; }}
    QLabel[part="why"] {{ {pt(12)} color: {look.text}; }}
    QLabel[part="hand-value"] {{ {pt(13)} font-weight: bold; color: {look.hand}; }}
    QLabel[part="sound-value"] {{ {pt(12)} font-weight: bold; color: {look.sound}; }}
    QLabel[part="advice"] {{ {pt(12)} color: {look.quiet}; }}
    QLabel[part="readout"] {{ {pt(11)} color: {look.text}; font-weight: bold; }}
    QWidget[part="hint"] {{ background: {blend(look.card, look.text, 0.08)};
        border: none; border-radius: 6px; }}
    QLabel[part="hint-words"] {{ {pt(10.5)} color: {look.text}; }}
    QPushButton[part="hint-close"] {{ background: transparent; border: none; padding: 2px 8px;
        {pt(13)} color: {look.text}; }}
    QPushButton[part="hint-close"]:focus {{ border: 2px solid {look.focus}; padding: 0px 6px; }}
    QTextBrowser {{ background: {look.card}; border: 1px solid {look.rule}; {pt(11)} }}
    QWidget[part="stage"] {{ background: {look.card}; }}
    QLabel[part="stage-verdict"] {{ color: {look.text}; }}
    QLabel[part="stage-verdict"][tone="agree"] {{ color: {look.agree}; }}
    QLabel[part="stage-verdict"][tone="differ"] {{ color: {look.differ}; }}
    QLabel[part="stage-hand"] {{ color: {look.hand}; }}
    QLabel[part="stage-sound"] {{ color: {look.sound}; }}
    QLabel[part="stage-name"] {{ color: {look.text}; }}
    QLabel[part="invite"] {{ {pt(20)} font-weight: bold; color: {look.text}; }}
    QWidget[part="dropzone"] {{ border: 3px dashed {look.rule}; border-radius: 14px;
        background: {look.card}; }}
    QWidget[part="dropzone"][hot="true"] {{ border-color: {look.sound};
        background: {sound_wash}; }}
    QWidget[part="step"] {{ background: {look.field}; border: 1px solid {look.rule};
        border-radius: 6px; }}
    QWidget[part="detail"] {{ background: {blend(look.card, look.hand, 0.06)}; border: none;
        border-left: 3px solid {look.hand}; }}
    QLabel[part="step-title"] {{ font-weight: bold; color: {look.text}; }}
    QWidget[part="expect"] {{ background: {hand_wash}; border: 1px solid {look.rule};
        border-left: 5px solid {look.hand}; border-radius: 6px; }}
    QWidget[part="banner"] {{ background: {blend(look.card, look.fault, 0.12)};
        border: 1px solid {look.fault}; border-radius: 6px; }}
    QScrollArea, QWidget[part="plain"] {{ background: transparent; border: none; }}
    QLineEdit, QComboBox, QDoubleSpinBox {{ background: {look.field}; color: {look.text};
        border: 1px solid {look.rule}; border-radius: 4px; padding: 3px 5px; {pt(12)}
        selection-background-color: {look.sound}; selection-color: {look.card}; }}
    QDoubleSpinBox::up-button, QDoubleSpinBox::down-button {{ width: 0px; border: none; }}
    QComboBox[part="small"] {{ {pt(10)} padding: 1px 4px; }}
    QComboBox[part="small"]:focus {{ padding: 0px 3px; }}
    QComboBox::drop-down {{ border: none; width: 20px; }}
    QComboBox QAbstractItemView {{ background: {look.field}; color: {look.text};
        border: 1px solid {look.rule}; selection-background-color: {look.sound};
        selection-color: {look.card}; {pt(12)} }}
    QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
    QScrollBar:horizontal {{ background: transparent; height: 12px; margin: 0; }}
    QScrollBar::handle {{ background: {look.rule}; border-radius: 4px; margin: 2px; }}
    QScrollBar::handle:vertical {{ min-height: 30px; }}
    QScrollBar::handle:horizontal {{ min-width: 30px; }}
    QScrollBar::handle:hover {{ background: {look.quiet}; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    QLineEdit:focus, QComboBox:focus, QDoubleSpinBox:focus {{
        border: 2px solid {look.focus}; padding: 2px 4px; }}
    QLineEdit[faulty="true"] {{ border: 2px solid {look.fault}; padding: 2px 4px; }}
    QLineEdit:disabled, QComboBox:disabled, QDoubleSpinBox:disabled {{
        color: {blend(look.quiet, look.card, 0.35)}; }}
    QAbstractSpinBox > QLineEdit, QAbstractSpinBox > QLineEdit:focus {{ border: none;
        padding: 0px; background: transparent; }}
    QPushButton {{ background: {blend(look.card, look.text, 0.07)}; color: {look.text};
        border: 1px solid {look.rule}; border-radius: 5px; padding: 5px 12px; {pt(11)} }}
    QPushButton:hover {{ border-color: {look.text}; }}
    QPushButton:pressed {{ background: {blend(look.card, look.text, 0.18)}; }}
    QPushButton:focus {{ border: 2px solid {look.focus}; padding: 4px 11px; }}
    QPushButton:checked {{ background: {look.sound}; color: {look.card}; }}
    QPushButton[part="hand-choice"]:checked {{ background: {look.hand}; }}
    QPushButton:disabled {{ color: {blend(look.quiet, look.card, 0.35)}; }}
    QPushButton[part="fold"], QPushButton[part="fold"]:checked {{ background: transparent;
        color: {look.hand}; border: none; text-align: left; padding: 4px 2px; }}
    QPushButton[part="fold"]:focus {{ border: 2px solid {look.focus}; padding: 2px 0px; }}
    QPushButton[part="main"] {{ background: {look.sound}; color: {look.card};
        font-weight: bold; {pt(13)} padding: 8px 18px; border: 2px solid {look.sound}; }}
    QPushButton[part="main"]:focus {{ border: 2px solid {look.text}; }}
    QProgressBar {{ background: {look.field}; border: 1px solid {look.rule};
        border-radius: 4px; color: {look.text}; text-align: center; {pt(10)} min-height: 18px; }}
    QProgressBar::chunk {{ background: {blend(look.sound, look.field, 0.55)};
        border-radius: 3px; }}
    QTableView {{ background: {look.card}; border: 1px solid {look.rule};
        gridline-color: {look.rule}; color: {look.text};
        selection-background-color: {sound_wash}; selection-color: {look.text}; }}
    QDialog {{ background: {look.card}; }}
    QTableWidget {{ background: {look.card}; border: none; gridline-color: {look.rule};
        color: {look.text}; selection-background-color: {sound_wash};
        selection-color: {look.text}; }}
    QTableWidget::item {{ padding: 0px 6px; }}
    QTableWidget:focus {{ border: 2px solid {look.focus}; }}
    QHeaderView {{ background: {look.card}; border: none; }}
    QHeaderView::section {{ background: {look.card}; color: {look.quiet}; border: none;
        border-bottom: 2px solid {look.rule}; padding: 3px 6px; {pt(11)} font-weight: bold; }}
    QMenuBar {{ background: {look.page}; color: {look.text}; }}
    QMenuBar::item:selected {{ background: {sound_wash}; }}
    QMenu {{ background: {look.card}; color: {look.text}; border: 1px solid {look.rule}; }}
    QMenu::item {{ padding: 5px 26px 5px 22px; }}
    QMenu::item:selected {{ background: {look.sound}; color: {look.card}; }}
    QMenu::item:disabled {{ color: {blend(look.quiet, look.card, 0.35)}; }}
    QMenu::separator {{ height: 1px; background: {look.rule}; margin: 4px 8px; }}
    QToolTip {{ background: {look.card}; color: {look.text}; border: 1px solid {look.rule};
        {pt(11)} }}
    QSplitter::handle {{ background: transparent; }}
    QSplitter::handle:hover {{ background: {look.rule}; }}
    QStatusBar {{ background: {look.page}; color: {look.quiet}; }}
    """
