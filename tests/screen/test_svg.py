"""The screen as Textual exports it to SVG, in each look, against pictures kept: every word, its place, its colour."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from seen_screen import matches

from earloop.screen.themes import NAMES

SVG = "{http://www.w3.org/2000/svg}"


def told(svg: str) -> str:
    """One row a text of the picture: place, colour and weight, words. Names of the export's own are left out."""
    root = ET.fromstring(svg)
    styles = dict(re.findall(r"\.[\w-]*-(r\d+) \{ ([^}]*) \}", svg))
    rows = []
    for text in root.iter(f"{SVG}text"):
        style = styles.get(text.get("class", "").rsplit("-", 1)[-1], "")
        place = f"{float(text.get('x', 0)):.0f} {float(text.get('y', 0)):.0f}"
        rows.append(f"{place} [{style.strip()}] {''.join(text.itertext()).rstrip()}")
    return "\n".join(row.rstrip() for row in rows) + "\n"


@pytest.mark.parametrize("look", NAMES)
async def test_the_exported_picture_is_as_kept(stood, look):
    async with stood((80, 24), theme=look) as (app, pilot, _):
        await pilot.press("2", "right")
        await pilot.pause()
        matches(told(app.export_screenshot(title="earloop")), f"svg-{look}")
