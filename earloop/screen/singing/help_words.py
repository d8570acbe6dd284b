"""What the singing screen's help says: keys, what the rows mean, by what is judged and where that comes from, care."""

from __future__ import annotations

from earloop.hearing.compare import TOLERANCE
from earloop.hearing.pace import HELD, ON_THE_BEAT
from earloop.screen.cautions import CAUTIONS
from earloop.screen.signs import Signs

KEYS = (
    ("space", "begin, or stop; in your own time: your answer is done"),
    ("a", "answer in the gap, along with the sound, or in your own time"),
    ("I", "what is listened to: a microphone, a keyboard, a recording"),
    ("b", "hear both: your last answer, then the line"),
    ("K", "keep the last take as a file; nothing is kept otherwise"),
    ("( )", "stricter, or wider: cents within which a tone is right"),
    ("R", "the score's pitch, or your own, found from your singing"),
    ("{ }", "held: how much of its length a tone has to sound"),
    ("M", "order and proportion; or the metronome too, wide, then strict"),
    ("{left} {right}", "more tones of a long layer"),
    ("1-7 d c t", "layer, barer, fuller, true time or closed up"),
    ("n p l", "phrase, and what is looped"),
    ("+ - [ ] 0", "tempo"),
    ("i o < >", "count-in, drone, softer, louder"),
    ("g k", "names of the degrees, home or local key"),
)
MEANINGS = (
    f"Right is within {TOLERANCE:.0f} cents at first: trained singers are mostly within 25 to 50 cents of their target "
    "(from memory, no source). Any octave will do. Vibrato, glides and breaths between tones are no errors.",
    "Early or late is told in your own time: order and proportion count. With M it is told against the beat, and "
    f"within {ON_THE_BEAT:.0f} ms counts as on it (a default of ours, no source). The player's and the microphone's "
    "buffers are reckoned with; what a wireless headphone adds is not known: a lag that all tones have is told apart, "
    "and no tone is late by it.",
    f"Held is a tone's length over what its proportion asks for; {100 * HELD:.0f} % is enough at first, since breath "
    "and consonants take some (common practice, no source).",
    "A drift over the phrase is told apart from single tones: what is left of a tone after it is what is judged.",
    "With a keyboard, in your own time, a wrong answer is followed by both: yours, then the line.",
)


def help_lines(signs: Signs) -> list[str]:
    """A line each."""
    keys = [f"{signs.words(key):<10} {words}" for key, words in KEYS]
    rows = [
        f"{signs.in_tune * 3:<10} your pitch, within the tolerance: it lies on the tone",
        f"{signs.off_high}{signs.off_middle}{signs.off_low:<8} your pitch elsewhere, octave folded",
        f"{signs.differs + '3':<10} another degree was sung; none: nothing answered this tone",
        f"{'-62!':<10} outside what counts as right",
    ]
    return [*keys, "", *rows, "", *MEANINGS, "", *CAUTIONS]
