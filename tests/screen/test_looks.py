"""Every look for every eye: contrast by WCAG 2.2's formula, colours apart for colour-blind eyes, plain signs.

Simulation: Machado, Oliveira & Fernandes 2009 (severity 100 %); distances: CIE 1976 L*a*b*; both by the library
colorspacious.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from colorspacious import cspace_convert, deltaE
from seen_screen import seen
from textual.color import Color

from earloop.cli.words import parser
from earloop.screen.themes import LOOKS, NAMES, next_theme

APART = ("upper", "middle", "lower", "skeleton", "lean", "quiet")
EYES = (None, "protanomaly", "deuteranomaly", "tritanomaly")
LEAST_APART = 15.0
"""CIE76 units; about 2.3 is a just noticeable difference (Mahy, Van Eycken & Oosterlinck 1994; from memory)."""
LEAST_CONTRAST = {"dark": 4.5, "light": 4.5, "contrast": 7.0}
"""WCAG 2.2, success criteria 1.4.3 (AA) and 1.4.6 (AAA)."""


def luminance(color: Color) -> float:
    """Relative luminance as WCAG 2.2 defines it (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    parts = [value / 255 for value in color.rgb]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: Color, other: Color) -> float:
    """(L1 + 0.05) / (L2 + 0.05), the lighter one above (WCAG 2.2, contrast ratio)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_ratios_it_is_known_by() -> None:
    """Black on white is 21:1; #767676 on white is the lightest grey that passes 4.5:1 (from memory)."""
    white = Color.parse("#ffffff")
    assert contrast(Color.parse("#000000"), white) == pytest.approx(21.0)
    assert 4.5 <= contrast(Color.parse("#767676"), white) < 4.6
    assert contrast(Color.parse("#777777"), white) < 4.5


@pytest.mark.parametrize("look", NAMES)
@pytest.mark.parametrize("keys", ["2 right y", "question_mark", "N", "F", "s", "u", "J"])
async def test_every_word_on_the_screen_has_enough_contrast(stood, look, keys) -> None:
    """Of each run of text as it is drawn, against what is drawn behind it."""
    async with stood(theme=look) as (app, pilot, player):
        player.play()
        await pilot.press(*keys.split())
        await pilot.pause()
        for strip in app.screen._compositor.render_strips():
            for text, style, _ in strip:
                if any(map(str.isalnum, text)) and style and style.color and style.bgcolor:
                    ink, ground = (Color.from_rich_color(color) for color in (style.color, style.bgcolor))
                    assert contrast(ink, ground) >= LEAST_CONTRAST[look], text


@pytest.mark.parametrize("look", NAMES)
@pytest.mark.parametrize("eye", EYES)
def test_colours_stay_apart_for_every_eye(look, eye) -> None:
    """Any two of the colours that tell lines, skeleton and leans from each other."""
    colours = LOOKS[look].variables
    for one, other in combinations(APART, 2):
        pair = [simulated(colours[name], eye) for name in (one, other)]
        assert deltaE(*pair, input_space="sRGB1", uniform_space="CIELab") >= LEAST_APART, (one, other)


def simulated(colour: str, eye: str | None):
    """The colour as such an eye sees it, as sRGB from 0 to 1."""
    plain = [value / 255 for value in Color.parse(colour).rgb]
    if eye is None:
        return plain
    space = {"name": "sRGB1+CVD", "cvd_type": eye, "severity": 100}
    return cspace_convert(plain, space, "sRGB1").clip(0, 1)


def test_every_look_can_be_asked_for_and_comes_round() -> None:
    name = LOOKS["dark"].name
    for look in (*NAMES[1:], NAMES[0]):
        assert parser().parse_args(["screen", "--theme", look]).theme == look
        name = next_theme(name)
        assert name == LOOKS[look].name


async def test_signs_alone_tell_lines_and_decisions(stood) -> None:
    """Without any colour: each line has a row with its name; what was decided bears a sign nothing proposed has."""
    async with stood((120, 24), ascii=True) as (app, pilot, _):
        proposed = seen(app)
        rows = {row.split()[0]: row for row in proposed.splitlines() if row.strip()}
        picture = [row for row in proposed.splitlines()[3:15] if row.strip()]
        assert rows["upper"] != rows["lower"]
        assert not any("*" in row for row in picture)
        tone = app.stand.session.cursor
        await pilot.press("U", "r")
        await pilot.pause()
        app.stand.session.desk.finish()
        decided = {row.split()[0]: row for row in seen(app).splitlines() if row.strip()}
        assert app.stand.session.reading.voices[tone] == "upper"
        assert "*" in decided["upper"]
        assert "by hand *" in seen(app)
