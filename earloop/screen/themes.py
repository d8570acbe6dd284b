"""The looks: dark, light and high contrast. No sign rests on colour alone.

Colours of the lines, the skeleton and the leans stay apart for colour-blind eyes (`tests/screen/test_looks.py`
simulates them); all words have a contrast of 4.5:1 or more with what is behind them, in the contrast look of 7:1 or
more (WCAG 2.2, success criteria 1.4.3 and 1.4.6).
"""

from __future__ import annotations

from typing import Literal, get_args

from textual.theme import Theme

Look = Literal["dark", "light", "contrast"]


def _look(
    name: Look, *, dark: bool, grounds: tuple[str, str, str], ink: str, skeleton: str, quiet: str, fault: str,
    upper: str, middle: str, lower: str, lean: str,
) -> Theme:  # fmt: skip
    """`grounds` lie behind the stand, behind panels, and behind a scroll bar."""
    background, surface, panel = grounds
    return Theme(
        name=f"earloop-{name}",
        dark=dark,
        primary=upper,
        secondary=lower,
        accent=lean,
        foreground=ink,
        background=background,
        surface=surface,
        panel=panel,
        success=middle,
        warning=lower,
        error=fault,
        variables={
            "upper": upper,
            "middle": middle,
            "lower": lower,
            "single": ink,
            "lean": lean,
            "quiet": quiet,
            "skeleton": skeleton,
        },
    )


LOOKS: dict[Look, Theme] = {
    "dark": _look(
        "dark", dark=True, grounds=("#15181d", "#1c2027", "#262b34"), ink="#dcd8cc", skeleton="#f3efe2",
        quiet="#91969e", fault="#f09a90", upper="#7abed9", middle="#29e0a4", lower="#e5b862", lean="#f68d7b",
    ),
    "light": _look(
        "light", dark=False, grounds=("#f8f5ee", "#efebe1", "#e3ded1"), ink="#1f2329", skeleton="#0e1116",
        quiet="#64696d", fault="#a01f12", upper="#2d5797", middle="#0c4517", lower="#9c4a0a", lean="#b30937",
    ),
    "contrast": _look(
        "contrast", dark=True, grounds=("#000000", "#0a0a0a", "#1c1c1c"), ink="#ffffff", skeleton="#ffffff",
        quiet="#a6aaae", fault="#ff9d8c", upper="#44a7fb", middle="#b2feae", lower="#d1a119", lean="#ee7a62",
    ),
}  # fmt: skip
NAMES: tuple[Look, ...] = get_args(Look)


def colours(look: Theme) -> dict[str, str]:
    """All colours of the look, by the names that the style sheets use."""
    return {**look.to_color_system().generate(), **look.variables}


def theme_name(look: Look) -> str:
    """The name Textual knows the look by."""
    return LOOKS[look].name


def next_theme(name: str) -> str:
    """The look after that one, round and round."""
    names = [theme.name for theme in LOOKS.values()]
    return names[(names.index(name) + 1) % len(names)]
