"""A layer, or the whole page, as MusicXML for the stand: degrees below the tones, words above, lines told apart."""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from earloop.layers.catalogue import build
from earloop.layers.layer import Layer, LayerTone
from earloop.reading.record import Reading
from earloop.sheet.bar_lines import PaperBar, bars_of
from earloop.sheet.paper_notes import exact, pitch_on_paper
from earloop.sheet.values import Piece, pieces, printable

_NO_COMPOSER = '    <creator type="composer">Music21</creator>\n'
"""What music21 writes where a score names no composer."""


def write_musicxml(reading: Reading, path: str | Path, layer: Layer | None = None, *, written: bool = False) -> Path:
    """Write `layer` (default: the whole line as it stands) to `path` and return the path.

    `written` prints a transposing instrument's own pitches instead of the sounding ones. Raises OSError where the
    file cannot be written.
    """
    path = Path(path)
    path.write_text(musicxml(reading, layer, written=written), encoding="utf-8")
    return path


def musicxml(reading: Reading, layer: Layer | None = None, *, written: bool = False) -> str:
    """The MusicXML text that `write_musicxml` writes."""
    layer = layer or build(reading, "ornamented")
    sink = io.StringIO()
    with warnings.catch_warnings(), contextlib.redirect_stdout(sink), contextlib.redirect_stderr(sink):
        warnings.simplefilter("ignore")
        from music21.musicxml.m21ToXml import GeneralObjectExporter

        exporter = GeneralObjectExporter(_score(reading, layer, written))
        exporter.makeNotation = False
        text: str = exporter.parse().decode("utf-8")
    return text.replace(_NO_COMPOSER, "")


def _score(reading: Reading, layer: Layer, written: bool) -> Any:
    from music21 import metadata, stream

    score = stream.Score()
    about = metadata.Metadata()
    title = reading.line.title or "Untitled"
    about.title = title if layer.name == "ornamented" else f"{title}: {layer.name}"
    score.insert(0, about)
    part = stream.Part(id="P1")
    part.partName = reading.line.part or "Line"
    bars = bars_of(reading, layer)
    strands = _strands(layer)
    first_notes: dict[int, tuple[Any, Any]] = {}
    measures = [_measure(bar) for bar in bars]
    for number, strand in enumerate(strands, start=1):
        rows = pieces(reading, strand, bars, written, first_notes)
        for measure, bar, row in zip(measures, bars, rows, strict=True):
            _fill(measure, bar, row, number, len(strands))
    _head(measures[0], reading, layer, written)
    for measure, bar in zip(measures, bars, strict=True):
        part.insert(exact(bar.start), measure)
    _words(measures, reading, first_notes)
    _slurs(part, reading, first_notes)
    part.makeAccidentals(inPlace=True, cautionaryNotImmediateRepeat=False)
    if any(bar.meter for bar in bars):
        part.makeBeams(inPlace=True)
    score.insert(0, part)
    return score


def _strands(layer: Layer) -> list[list[LayerTone]]:
    """The page with its bridges, then each line's held tones, which sound at the same time."""
    page = [tone for tone in layer.tones if tone.role != "held"]
    strands = [page]
    for voice in ("upper", "middle", "lower", "single"):
        held = [tone for tone in layer.tones if tone.role == "held" and tone.voice == voice]
        if held:
            strands.append(held)
    return strands


def _measure(bar: PaperBar) -> Any:
    from music21 import bar as bars
    from music21 import meter, stream

    measure = stream.Measure(number=bar.number)
    if bar.meter is not None:
        measure.insert(0, meter.TimeSignature(f"{bar.meter.beats}/{bar.meter.unit}"))
        if bar.end - bar.start < bar.meter.measure_length - 1e-6:
            measure.paddingLeft = bar.meter.measure_length - (bar.end - bar.start)
    if bar.style != "regular":
        measure.rightBarline = bars.Barline(bar.style)
    return measure


def _head(measure: Any, reading: Reading, layer: Layer, written: bool) -> None:
    """Clef, signature, tempo, and `senza misura` where there is no meter."""
    from music21 import clef, key, meter, tempo

    line = reading.line
    tones = [pitch_on_paper(tone.pitch, line[tone.source], written) for tone in layer.tones] or [line[0].pitch]
    middle = sum(pitch.midi for pitch in tones) / len(tones)
    measure.insert(0, clef.TrebleClef() if middle >= 57 else clef.BassClef())
    fifths = line.fifths if line.fifths is not None else reading.home.key.signature
    first = line[0]
    if written and first.written is not None:
        fifths += first.written.fifths - first.pitch.fifths
    measure.insert(0, key.KeySignature(max(-7, min(7, fifths))))
    if not measure.getElementsByClass(meter.TimeSignature):
        measure.insert(0, meter.SenzaMisuraTimeSignature(""))
    if line.tempo:
        measure.insert(0, tempo.MetronomeMark(number=round(line.tempo, 2), referent="quarter"))


def _fill(measure: Any, bar: PaperBar, row: Sequence[Piece], number: int, strands: int) -> None:
    """Put a strand's notes into the measure, rests between them; with several strands each is a voice."""
    from music21 import note, stream

    target = measure if strands == 1 else stream.Voice(id=str(number))
    now = Fraction(0)
    length = exact(bar.end) - exact(bar.start)
    for at, printed in [*row, (length, None)]:
        while now < at:
            for value in printable(at - now):
                rest = note.Rest(quarterLength=value)
                rest.style.hideObjectOnPrint = number > 1
                target.insert(now, rest)
                now += value
        if printed is not None:
            target.insert(at, printed)
            now = max(now, at + Fraction(printed.duration.quarterLength))
    if target is not measure:
        measure.insert(0, target)


def _words(measures: Sequence[Any], reading: Reading, first_notes: dict[int, tuple[Any, Any]]) -> None:
    """What was written over tones by hand, as text above the staff; a word over a tone that isn't here is left out."""
    from music21 import expressions

    over = {id(first_notes[index][0]): word for index, word in reading.words if index in first_notes}
    for site in (site for measure in measures for site in (measure, *measure.voices)):
        for note in [note for note in site.notes if id(note) in over]:
            text = expressions.TextExpression(over[id(note)])
            text.placement = "above"
            text.style.fontStyle = "italic"
            site.insert(site.elementOffset(note), text)


def _slurs(part: Any, reading: Reading, first_notes: dict[int, tuple[Any, Any]]) -> None:
    """The page's slurs between tones that are both in the layer."""
    from music21 import spanner

    open_slurs: list[int] = []
    for index, tone in enumerate(reading.line.tones):
        for _ in range(min(tone.marks.slur_stops, len(open_slurs))):
            start = open_slurs.pop()
            if start in first_notes and index in first_notes:
                part.insert(0, spanner.Slur(first_notes[start][0], first_notes[index][1]))
        open_slurs += [index] * tone.marks.slur_starts
