"""A line and a reading made by hand, so that what is drawn doesn't hang on what the readers say this week."""

from __future__ import annotations

from earloop.line import Line, Span, Tone
from earloop.line.pitch import pitch_from_name
from earloop.reading import Reading
from earloop.reading.record import Bridge, Chain, Degree, Key, Lean, Link, LocalKey, Tonic, Voice, Weights
from earloop.session.player_port import PlayerPort
from earloop.session.session import Session

TUNE = """X:1
T:Tune
M:4/4
L:1/4
K:G
G, B A, c | B, d C2 | A G3 | B, A, G,2 |]
"""
_PAGE = (
    ("G3", 1), ("B4", 1), ("A3", 1), ("C5", 1), ("B3", 1), ("D5", 1), ("C#4", 2),
    ("A4", 1), ("G4", 3), ("B3", 1), ("A3", 1), ("G3", 2),
)  # fmt: skip
_VOICES: tuple[Voice, ...] = (
    "lower", "upper", "lower", "upper", "lower", "upper", "lower", "upper", "upper", "lower", "lower", "lower",
)  # fmt: skip


def handmade_line() -> Line:
    """Twelve tones, two lines folded into one."""
    tones, at = [], 0.0
    for name, length in _PAGE:
        tones.append(Tone(at, length, pitch_from_name(name)))
        at += length
    return Line(tuple(tones), title="Tune", fifths=1, mode="major")


def handmade_reading(line: Line) -> Reading:
    """Every kind of thing the picture can show, once at least."""
    key = Key(1)
    degrees = tuple(map(Degree, (1, 3, 2, 4, 3, 5, 4, 2, 1, 3, 2, 1), (0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0)))
    gestures = (Span(0, 3), Span(4, 6), Span(7, 8), Span(9, 11))
    return Reading(
        line=line,
        home=Tonic(key, 0.5, (7, 2), 0.9),
        phrases=(Span(0, 6), Span(7, 11)),
        phrase_sure=(0.8, 0.8),
        gestures=gestures,
        local=tuple(LocalKey(span, Key(2) if span.first == 4 else key, 0.7) for span in gestures),
        degrees=degrees,
        local_degrees=(*degrees[:4], Degree(6), Degree(1), Degree(7), *degrees[7:]),
        voices=_VOICES,
        voice_sure=(0.9,) * 12,
        weights=Weights(
            parent=(11, 0, 0, 1, 0, 1, 4, 8, 11, 11, 11, -1),
            weight=(9, 6, 2, 2, 3, 5, 2, 3, 8, 4, 2, 10),
            level=(5, 3, 0, 1, 2, 3, 1, 1, 4, 2, 1, 5),
            figure=("structural", "structural", "passing", "passing", "structural", "structural", "neighbor",
                    "appoggiatura", "structural", "structural", "passing", "structural"),
            sure=(0.7,) * 12,
        ),
        leans=(Lean(7, 8, "2-1", 0.8, 0.9),),
        motives=(),
        links=(Link(0, 2, "lower", 1, 0.9), Link(1, 3, "upper", 1, 0.9), Link(3, 5, "upper", 1, 0.9),
               Link(6, 9, "lower", -1, 0.6)),
        chains=(Chain((1, 3, 5), "upper", "step", True),),
        bridges=(Bridge(6, 9),),
        words=((8, "far bank"),),
    )  # fmt: skip


def handmade_session(player: PlayerPort) -> Session:
    """A session that shows the handmade reading until the first correction makes the readers read again."""
    session = Session(handmade_line(), player, reads_later=True)
    session.desk.reading = handmade_reading(session.line)
    session.choose_layer("skeleton")
    return session
