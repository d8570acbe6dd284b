"""One plain sentence about the tone at the cursor: what it is, which line it is of, what it decorates, what it does."""

from __future__ import annotations

from earloop.reading import DEEPEST
from earloop.reading.record import Figure
from earloop.screen.signs import Signs
from earloop.session.session import Session

ARTICLES = "aeiou"
FIGURE_NAMES: dict[Figure, str] = {
    "passing": "passing tone",
    "neighbor": "neighbor tone",
    "appoggiatura": "appoggiatura",
    "suspension": "suspension",
    "retardation": "retardation",
    "anticipation": "anticipation",
    "escape": "escape tone",
    "changing": "changing tone",
    "arpeggiation": "tone of an arpeggiation",
    "pedal": "pedal tone",
    "repetition": "repetition",
    "grace": "grace note",
}


def about(session: Session, signs: Signs) -> str:
    """What the reading says of the tone, and what of it was decided by hand."""
    index, reading = session.cursor, session.reading
    by_hand = session.desk.decided_about(index)
    hand = f" ({signs.decided} by hand: {', '.join(by_hand)})" if by_hand else ""
    parts = [f"{_name(session, index, signs)}{hand}: degree {_degree(session, index, signs)}"]
    if reading.voices[index] != "single":
        parts[0] += f" of the {reading.voices[index]} line"
    parts.append(_weight(session, index, signs))
    parts += _doings(session, index, signs)
    return "; ".join(part for part in parts if part) + "."


def _name(session: Session, index: int, signs: Signs) -> str:
    return f"Tone {index + 1}, {signs.pitch(session.line[index].pitch.name)}"


def _short(session: Session, index: int, signs: Signs) -> str:
    return f"{signs.pitch(session.line[index].pitch.name)} (tone {index + 1})"


def _degree(session: Session, index: int, signs: Signs) -> str:
    home, local = session.reading.degrees[index], session.reading.local_degrees[index]
    text = signs.accidentals(str(home))
    if local != home:
        key = session.reading.local[session.reading.gesture_of(index)].key
        text += f", {signs.accidentals(str(local))} in {signs.key(key.name)}"
    return text


def _weight(session: Session, index: int, signs: Signs) -> str:
    weights = session.reading.weights
    figure, parent, level = weights.figure[index], weights.parent[index], weights.level[index]
    if figure != "structural":
        name = FIGURE_NAMES[figure]
        article = "an" if name[0] in ARTICLES else "a"
        to = f" to {_short(session, parent, signs)}" if parent >= 0 else ""
        return f"{article} {name}{to}"
    if level == DEEPEST:
        return "a pillar of its phrase, in every skeleton"
    carried = f"sounds down to depth {level}" if level else "sounds on the page only"
    return carried + (f", then gives way to {_short(session, parent, signs)}" if parent >= 0 else "")


def _doings(session: Session, index: int, signs: Signs) -> list[str]:
    """What the tone does with others: leans, links, chains, bridges."""
    reading = session.reading
    said = []
    for lean in reading.leans:
        if lean.lean == index:
            said.append(
                f"leans {signs.accidentals(lean.degrees)} and releases to {_short(session, lean.release, signs)}"
            )
        elif lean.release == index:
            said.append(f"releases the lean of {_short(session, lean.lean, signs)}")
    for chain in reading.chains:
        if index in chain.tones:
            said.append(f"in a chain {chain.name}")
    if not any("chain" in part for part in said):
        said += [f"links on to {_short(session, k.second, signs)}" for k in reading.links if k.first == index]
    said += [
        f"{_short(session, b.tone, signs)} sounds once more before it" for b in reading.bridges if b.before == index
    ]
    return said
