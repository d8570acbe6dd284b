"""The lines of words around the picture: what is on the stand, what is chosen, what is so, what can be pressed."""

from __future__ import annotations

from rich.text import Text

from earloop.layers import NAMES
from earloop.screen.keys import KEYS, Key, When
from earloop.screen.opening import Opened
from earloop.screen.signs import Signs
from earloop.session.player_port import Where
from earloop.session.session import Session

NAMES_OF_DEGREES = {"numbers": "numbers", "do": "do-based", "la": "la-based", "notes": "note names"}


def heading(opened: Opened, signs: Signs) -> str:
    """Title, instrument or part, and which phrase of how many is before us."""
    session = opened.session
    title = opened.card.title or session.line.title or opened.path.stem
    who = opened.card.instrument or session.line.part
    phrase = session.reading.phrases[session.phrase]
    parts = [title, who, f"phrase {session.phrase + 1} of {len(session.reading.phrases)}"]
    parts.append(f"tones {phrase.first + 1} to {phrase.last + 1} of {len(session.line)}")
    return f" {signs.dot} ".join(part for part in parts if part)


def state(session: Session, playing: bool, answering: bool, signs: Signs) -> Text:
    """The first line of choices: layer, loop, tempo, key, and whether it sounds."""
    c = session.choices
    layer = f"{NAMES.index(c.layer) + 1} {c.layer}"
    if c.layer != "ornamented":
        layer += f", depth {session.depth}"
    sound = f"{signs.plays} your turn" if answering and playing else f"{signs.plays} playing"
    said = [
        layer,
        f"loop {c.loop}",
        f"tempo {c.tempo} %",
        f"home {signs.key(session.reading.home.key.name)}",
        sound if playing else f"{signs.silent} stopped",
    ]
    return Text(f" {signs.phrase} ".join(said), no_wrap=True, overflow="ellipsis", style="bold")


def details(session: Session, signs: Signs) -> Text:
    """The second line: the local key where it is asked for, and what is not as it is at first."""
    c = session.choices
    said = []
    if c.home_or_local == "local":
        said.append(f"here {signs.key(session.reading.local[session.reading.gesture_of(session.cursor)].key.name)}")
    said.append(f"degrees: {NAMES_OF_DEGREES[c.degree_names]}")
    said.append("true time" if c.true_time else "closed up")
    said.append("layers change at once" if c.switch_now else "layers change at the seam")
    said.append(f"level {round(c.level * 100)}")
    if c.drone != "off":
        said.append("drone: tonic" if c.drone == "tonic" else "drone: tonic and fifth")
    if c.answer_gap:
        said.append("answer gap")
    if c.count_in:
        said.append(f"count-in {c.count_in}")
    if not c.shaped:
        said.append("level loudness")
    if session.muted:
        said.append("muted: " + ", ".join(sorted(session.muted)))
    if session.only:
        said.append(f"alone: {session.only}")
    return Text(f" {signs.dot} ".join(said), no_wrap=True, overflow="ellipsis")


def sound(where: Where, loading: str = "") -> str:
    """Where the sound goes, or what is wrong with it; one line."""
    return loading or where.notice or where.output


def circumstances(session: Session | None, playing: bool, picking: bool) -> frozenset[When]:
    """Which `when`s of the key table hold now."""
    if picking:
        return frozenset(("picking",))
    if session is None:
        return frozenset(("always",))
    desk = session.desk
    holds: set[When] = {"always", "score", "playing" if playing else "stopped"}
    if session.marks is not None:
        holds.add("marked")
    if desk.can_undo:
        holds.add("undo")
    if desk.can_redo:
        holds.add("redo")
    if desk.decided_about(session.cursor):
        holds.add("decided")
    return frozenset(holds)


def hints(holds: frozenset[When], signs: Signs, width: int, lines: int = 2) -> Text:
    """The keys that apply now, as many as the lines hold, the ones for getting on and out always among them."""
    keys = [key for key in KEYS if key.hint and key.when in holds]
    last = [key for key in keys if key.when == "always"]
    rows: list[list[Key]] = [[]]
    used, room = 0, sum(_size(key, signs) for key in last)
    for key in [key for key in keys if key not in last]:
        size = _size(key, signs)
        spare = room if len(rows) == lines else 0
        if used + size > width - spare:
            if len(rows) == lines:
                break
            rows.append([])
            used = 0
        rows[-1].append(key)
        used += size
    rows[-1] += last
    text = Text(no_wrap=True, overflow="crop")
    for number, row in enumerate(rows):
        text.append("\n" if number else "")
        for key in row:
            text.append(signs.words(key.shown), style="bold")
            text.append(f" {key.short}  ")
    return text


def _size(key: Key, signs: Signs) -> int:
    return len(signs.words(key.shown)) + len(key.short) + 3
