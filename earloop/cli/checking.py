"""`check`: a recording of one's own singing or playing beside a layer."""

from __future__ import annotations

import argparse
import json

from earloop.capture.messages import Answer
from earloop.cli.answers import as_fields, as_rows
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import check_measure, check_tempo, layer_of, reading_of
from earloop.cli.sentences import say
from earloop.hearing.pitch_track import RATE, pitch_track
from earloop.hearing.take import TakeError, read_take
from earloop.hearing.tones_sung import tones_sung
from earloop.layers import Layer
from earloop.performing import Manner, perform
from earloop.performing.timing import timed
from earloop.reading import Reading
from earloop.session.judging import Asked, Judged, Measure, judge


def check(words: argparse.Namespace) -> int:
    """Say for each tone of the layer how it was sung: a table and a sentence, or JSON."""
    check_measure(words)
    check_tempo(words)
    reading = reading_of(words, words.file)
    layer = layer_of(words, reading)
    try:
        take = read_take(words.take)
    except TakeError as error:
        raise Refusal(str(error)) from error
    measure = Measure(words.tolerance, words.held / 100, words.relative, words.beat)
    answer = Answer(1, 0.0, len(take) / RATE, tones_sung(pitch_track(take)))
    judged = _judged(reading, layer, answer, measure, words.tempo)
    if words.json:
        print(json.dumps(as_fields(judged)))
    else:
        print("\n".join([*as_rows(judged), ""]))
        say(judged.say)
    return 0


def _judged(reading: Reading, layer: Layer, answer: Answer, measure: Measure, percent: int) -> Judged:
    """In free time, or against a metronome that beats with the first tone heard, or as most of them do."""
    performance = perform(reading, layer, Manner())
    pace = 60.0 / (performance.tempo * percent / 100)
    free = judge(Asked(reading, layer, performance, pace, None), answer, measure)
    first = next((tone for tone in free.heard.tones if tone.onset is not None), None)
    if not measure.on_the_beat or first is None or first.onset is None:
        return free
    begin = first.onset - timed(reading, layer).tones[first.index].onset * pace
    timely = judge(Asked(reading, layer, performance, pace, begin), answer, measure)
    if not timely.lag:
        return timely
    # The metronome is one that was not heard: that all others lag behind the first tone means that it came early.
    return judge(Asked(reading, layer, performance, pace, begin + timely.lag / 1000), answer, measure)
