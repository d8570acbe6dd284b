"""README's picture: the real screen on a phrase of the library, as SVG.

    python -m tests.bench picture [docs/screen.svg] [phrase name's beginning]

The player is the tests' fake one, set to a place in the pass; all else is the program as it runs.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from earloop.screen.app import make_app  # noqa: E402
from earloop.screen.library import phrases_folder  # noqa: E402
from tests.screen.screen_player import FakePlayer  # noqa: E402
from tests.screen.seen_screen import until  # noqa: E402

WINDOW_BUTTONS = re.compile(r"<g[^>]*>\s*(<circle[^>]*/>\s*)+</g>")
"""The export frames the screen as a window of one maker's desktop; the screen has no such buttons."""
SIZE = (100, 30)
KEYS = ("4", "space", "right", "right", "right", "right")


async def picture(target: Path, beginning: str) -> None:
    """Open the phrase, choose the interleaved layer, play, and save what is seen."""
    folder = phrases_folder()
    assert folder is not None
    path = next(path for path in sorted(folder.iterdir()) if path.name.startswith(beginning) and path.suffix != ".toml")
    with tempfile.TemporaryDirectory() as copies:
        copy = Path(copies) / path.name
        for part in (path, path.with_suffix(".toml")):
            (Path(copies) / part.name).write_bytes(part.read_bytes())
        player = FakePlayer()
        app = make_app(copy, player=player)
        async with app.run_test(size=SIZE) as pilot:
            await until(pilot, lambda: app.stand is not None and app.stand.opened is not None, 60)
            await pilot.press(*KEYS)
            player.place = type(player.place)(
                playing=True, pass_number=1, position=3.0, output="speaker: built-in synth"
            )
            await pilot.pause(0.3)
            target.parent.mkdir(parents=True, exist_ok=True)
            svg = WINDOW_BUTTONS.sub("", app.export_screenshot(title="earloop"))
            target.write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    words = sys.argv[1:]
    asyncio.run(
        picture(Path(words[0]) if words else ROOT / "docs" / "screen.svg", words[1] if len(words) > 1 else "07")
    )
