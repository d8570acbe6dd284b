"""One sounding note of the line, with everything the score says about it."""

from __future__ import annotations

from dataclasses import dataclass, field

from earloop.line.pitch import Pitch


@dataclass(frozen=True, slots=True)
class Marks:
    """What the page says at a tone. Empty by default.

    `break_after` names the strongest sign of a breath after the tone: `breath`, `comma`, `caesura`,
    `dotted-bar`, `double-bar`, or `` where there is none. `ornaments` and `articulations` carry the
    open standards' own words (MusicXML: `trill-mark`, `mordent`, `turn`, `staccato`, `tenuto`, `accent` …).
    `slur_starts` and `slur_stops` count the slurs that begin and end on the tone.
    """

    break_after: str = ""
    fermata: bool = False
    slur_starts: int = 0
    slur_stops: int = 0
    ornaments: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()
    dynamic: str = ""
    hairpin: str = ""
    word: str = ""
    chord_below: tuple[Pitch, ...] = ()


NO_MARKS = Marks()


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone. `onset` and `length` in quarter notes, onset from the line's start; a grace note has length 0.

    `written` is the pitch on a transposing instrument's page, None where page and sound agree.
    `measure` is the score's own measure number as printed, `` where the score has none.
    """

    onset: float
    length: float
    pitch: Pitch
    grace: bool = False
    measure: str = ""
    written: Pitch | None = None
    marks: Marks = field(default=NO_MARKS)

    @property
    def midi(self) -> int:
        return self.pitch.midi

    @property
    def end(self) -> float:
        return self.onset + self.length


@dataclass(frozen=True, slots=True)
class OtherTone:
    """A tone that sounds with the line in its score. `onset` in quarters from the line's start, negative before it."""

    onset: float
    length: float
    pitch: Pitch

    @property
    def end(self) -> float:
        return self.onset + self.length
