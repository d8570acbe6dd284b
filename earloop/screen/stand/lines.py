"""The lines of words around the picture: what is on the stand, what is chosen, where the sound goes."""

from __future__ import annotations

from rich.text import Text

from earloop.layers import NAMES
from earloop.performing.manner import DroneKind
from earloop.screen.opening import Opened
from earloop.screen.signs import Signs
from earloop.session.player_port import Where
from earloop.session.session import Session

NAMES_OF_DEGREES = {"numbers": "numbers", "do": "do-based", "la": "la-based", "notes": "note names"}
DRONE_WORDS: dict[DroneKind, str] = {"off": "", "tonic": "drone: tonic", "fifth": "drone: tonic and fifth"}


SHORTEST = 12
"""Cells a title keeps at the least."""


def shortened(title: str, room: int, signs: Signs) -> str:
    """The title's first words, as many as there is room for; a sign says that there are more."""
    room = max(SHORTEST, room)
    if len(title) <= room:
        return title
    kept = title[: room - len(signs.more) + 1]
    whole = kept.rpartition(" ")[0] or kept[:-1]
    return whole.rstrip(" ,.;:-") + signs.more


def heading(opened: Opened, signs: Signs, width: int) -> str:
    """Title, instrument or part, and which phrase of how many is before us, in one line."""
    session = opened.session
    who = opened.card.instrument or session.line.part
    phrase = session.reading.phrases[session.phrase]
    parts = [who, f"phrase {session.phrase + 1} of {len(session.reading.phrases)}"]
    parts.append(f"tones {phrase.first + 1} to {phrase.last + 1} of {len(session.line)}")
    between = f" {signs.dot} "
    rest = between.join(part for part in parts if part)
    return between.join((shortened(opened.title, width - len(rest) - len(between), signs), rest))


def layer_words(session: Session) -> str:
    """The layer's number and name, and its depth where it has one."""
    layer = session.choices.layer
    numbered = f"{NAMES.index(layer) + 1} {layer}"
    return numbered if layer == "ornamented" else f"{numbered}, depth {session.depth}"


def state(session: Session, playing: bool, answering: bool, signs: Signs) -> Text:
    """The first line of choices: layer, loop, tempo, key, and whether it sounds."""
    c = session.choices
    sound = f"{signs.plays} your turn" if answering and playing else f"{signs.plays} playing"
    said = [
        layer_words(session),
        f"loop {c.loop}",
        f"tempo {c.tempo} %",
        f"home {signs.key(session.reading.home.key.name)}",
        sound if playing else f"{signs.silent} stopped",
    ]
    return Text(f" {signs.phrase} ".join(said), no_wrap=True, overflow="crop", style="bold")


def details(session: Session, signs: Signs, width: int, plan: str = "", of_sound: tuple[str, ...] = ()) -> Text:
    """The second line: first a plan under way, then what is not as it is at first, then as much else as fits whole."""
    c = session.choices
    here = session.reading.local[session.reading.gesture_of(session.cursor)].key.name
    said = (
        plan,
        "" if session.has_line(c.layer) else f"no {c.layer} line here: one line sounds for all",
        f"alone: {session.only}" if session.only else "",
        f"muted: {', '.join(sorted(session.muted))}" if session.muted else "",
        f"here {signs.key(here)}" if c.home_or_local == "local" else "",
        "answer gap" if c.answer_gap else "",
        f"count-in {c.count_in}" if c.count_in else "",
        DRONE_WORDS[c.drone],
        *of_sound,
        "layers change at once" if c.switch_now else "",
        "" if c.shaped else "level loudness",
        "true time" if c.true_time else "closed up",
        f"degrees: {NAMES_OF_DEGREES[c.degree_names]}",
        f"level {round(c.level * 100)}",
    )
    parts, between = [part for part in said if part], f" {signs.dot} "
    while len(parts) > 1 and len(between.join(parts)) > width:
        parts.pop()
    return Text(between.join(parts), no_wrap=True, overflow="crop")


def sound(where: Where, loading: str = "") -> str:
    """Where the sound goes, or what is wrong with it; one line."""
    return loading or where.notice or where.output
