"""One plain sentence about the tone at the cursor: what it is, which line it is of, what it decorates, what it does."""

from __future__ import annotations

from earloop.reading import DEEPEST
from earloop.reading.leans import why_lean
from earloop.reading.links import why_link
from earloop.reading.local_keys import why_local
from earloop.reading.motives import why_motive
from earloop.reading.phrase_reasons import why_phrase_end
from earloop.reading.record import Figure
from earloop.reading.tonic import why_tonic
from earloop.reading.voices_reason import why_voice
from earloop.reading.weight_reasons import why_weight
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
        text += f" ({signs.accidentals(str(local))} in {signs.key(key.name)})"
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
    reason = signs.sentence(why_weight(session.reading, index)).rstrip(".")
    return f"{carried}: {reason[:1].lower()}{reason[1:]}" if reason else carried


def reasons(session: Session, signs: Signs) -> list[str]:
    """Everything the readers give as a reason at the cursor's tone: weight, line, leans, links, end, keys."""
    index, reading = session.cursor, session.reading
    phrase, gesture = reading.phrase_of(index), reading.gesture_of(index)
    said = [why_weight(reading, index)]
    if reading.voices[index] != "single":
        said.append(why_voice(reading.line, reading.voices, reading.voice_sure, index))
    said += [why_lean(reading, lean) for lean in reading.leans if index in (lean.lean, lean.release)]
    said += [why_link(reading, link) for link in reading.links if index in (link.first, link.second)]
    said += [why_motive(reading, motive) for motive in reading.motives if index in motive.span]
    if reading.phrases[phrase].last == index and phrase < len(reading.phrases) - 1:
        said.append(why_phrase_end(reading.line, reading.home, reading.phrases, phrase))
    said.append(f"Here: {why_local(reading.line, reading.local[gesture], reading.home.key)}")
    said.append(f"Home: {why_tonic(reading.line, reading.home)}")
    return [about(session, signs), "", *(signs.sentence(sentence) for sentence in said if sentence)]


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
