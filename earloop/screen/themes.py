"""The dark and the light look. Colours stay apart for colour-blind eyes, and no sign rests on colour alone."""

from __future__ import annotations

from typing import Literal

from textual.theme import Theme

Look = Literal["dark", "light"]

DARK = Theme(
    name="earloop-dark",
    dark=True,
    primary="#8ab8e6",
    secondary="#e3aa5f",
    accent="#e8937f",
    foreground="#dcd8cc",
    background="#15181d",
    surface="#1c2027",
    panel="#262b34",
    success="#a5cf9f",
    warning="#e3aa5f",
    error="#f09a90",
    variables={
        "upper": "#8ab8e6",
        "middle": "#a5cf9f",
        "lower": "#e3aa5f",
        "single": "#dcd8cc",
        "lean": "#f0a08c",
        "quiet": "#8b909b",
        "skeleton": "#f3efe2",
    },
)
LIGHT = Theme(
    name="earloop-light",
    dark=False,
    primary="#1b5c97",
    secondary="#855000",
    accent="#9c2f1d",
    foreground="#1f2329",
    background="#f8f5ee",
    surface="#efebe1",
    panel="#e3ded1",
    success="#2a6430",
    warning="#855000",
    error="#a01f12",
    variables={
        "upper": "#1b5c97",
        "middle": "#2a6430",
        "lower": "#855000",
        "single": "#1f2329",
        "lean": "#9c2f1d",
        "quiet": "#5f6570",
        "skeleton": "#0e1116",
    },
)


def theme_name(look: Look) -> str:
    """The name Textual knows the look by."""
    return (DARK if look == "dark" else LIGHT).name


def other_theme(name: str) -> str:
    """The light one for the dark one, and back."""
    return (LIGHT if name == DARK.name else DARK).name
