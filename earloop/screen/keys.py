"""Every key of the stand in one table: bindings, the hint line and help all read it.

Toggles only: a terminal tells of no key's release. Nothing needs a lone Escape.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from textual.binding import Binding, BindingType

Group = Literal["Playing", "Where", "Layer", "Tempo and time", "Sound", "What is seen", "Correcting", "Screens"]
When = Literal["always", "score", "stopped", "playing", "picking", "marked", "undo", "redo", "decided", "parts"]


@dataclass(frozen=True, slots=True)
class Key:
    """`keys` in Textual's names, comma separated; `shown` is how they are written for people.

    `short` is for the hint line, `words` for help. `when` says where the key applies; `hint` whether the hint line
    has room for it.
    """

    id: str
    keys: str
    shown: str
    short: str
    words: str
    group: Group
    action: str
    when: When = "score"
    hint: bool = False


def _session(name: str, *values: object) -> str:
    return f"session({', '.join(map(repr, (name, *values)))})"


def _desk(name: str, *values: object) -> str:
    return f"desk({', '.join(map(repr, (name, *values)))})"


_LAYERS = ("skeleton", "upper", "lower", "interleaved", "bridged", "held", "ornamented")

PLAYING = (
    Key("play", "space", "space", "play", "start the loop, or stop it", "Playing", _session("play_or_stop"), hint=True),
    Key("seek", "enter", "enter", "from here", "let the sound go on from the cursor", "Playing", "seek"),
    Key(
        "loop",
        "l",
        "l",
        "loop",
        "loop the phrase, the gesture, the marked tones or the whole",
        "Playing",
        _session("next_loop"),
        hint=True,
    ),
    Key(
        "mark",
        "m",
        "m",
        "mark",
        "mark the tone; a second mark loops from the first to it",
        "Playing",
        _session("mark"),
        hint=True,
    ),
    Key(
        "answer",
        "a",
        "a",
        "answer gap",
        "after each pass the same time of silence, to sing it back",
        "Playing",
        _session("turn_answer_gap"),
    ),
    Key("count", "i", "i", "count-in", "count before the first pass", "Playing", _session("turn_count_in")),
)
WHERE = (
    Key("next", "n,pagedown", "n", "next phrase", "next phrase", "Where", _session("next_phrase"), hint=True),
    Key("previous", "p,pageup", "p", "phrase before", "phrase before", "Where", _session("previous_phrase"), hint=True),
    Key("left", "left", "{left}", "tone before", "cursor to the tone before", "Where", "step(-1)", hint=True),
    Key("right", "right", "{right}", "next tone", "cursor to the next tone", "Where", "step(1)", hint=True),
    Key("gesture_before", "up", "{up}", "gesture before", "cursor to the gesture before", "Where", "gesture(-1)"),
    Key("gesture_next", "down", "{down}", "next gesture", "cursor to the next gesture", "Where", "gesture(1)"),
    Key("first", "home", "Home", "start", "cursor to the first tone", "Where", _session("point_at", 0)),
    Key("last", "end", "End", "end", "cursor to the last tone", "Where", _session("point_at", 10**9)),
)
LAYER = (
    *(
        Key(
            f"layer_{name}",
            str(number),
            str(number),
            name,
            f"layer {number}: {name}",
            "Layer",
            _session("choose_layer", name),
        )
        for number, name in enumerate(_LAYERS, start=1)
    ),
    Key("deeper", "d", "d", "deeper", "a barer layer: only weightier tones", "Layer", _session("deeper", 1), hint=True),
    Key("closer", "c", "c", "closer", "a fuller layer: closer to the page", "Layer", _session("deeper", -1), hint=True),
    Key(
        "switch",
        "w",
        "w",
        "switch at",
        "layers change at the loop's seam, or at once",
        "Layer",
        _session("turn_switching"),
    ),
    Key(
        "time",
        "t",
        "t",
        "true time",
        "true time, or closed up over the rests of the other line",
        "Layer",
        _session("turn_time"),
    ),
)
TEMPO = (
    Key("faster", "plus", "+", "faster", "tempo 5 % faster", "Tempo and time", _session("faster", 5), hint=True),
    Key("slower", "minus", "-", "slower", "tempo 5 % slower", "Tempo and time", _session("faster", -5), hint=True),
    Key(
        "faster_1",
        "right_square_bracket",
        "]",
        "faster by 1",
        "tempo 1 % faster",
        "Tempo and time",
        _session("faster", 1),
    ),
    Key(
        "slower_1",
        "left_square_bracket",
        "[",
        "slower by 1",
        "tempo 1 % slower",
        "Tempo and time",
        _session("faster", -1),
    ),
    Key(
        "tempo_100",
        "0,equals_sign",
        "0",
        "tempo 100",
        "tempo back to 100 %",
        "Tempo and time",
        _session("set_tempo", 100),
    ),
)
SOUND = (
    Key("softer", "less_than_sign,comma", "<", "softer", "softer", "Sound", "level(-0.05)"),
    Key("louder", "greater_than_sign,full_stop", ">", "louder", "louder", "Sound", "level(0.05)"),
    Key("strands", "s", "s", "strands", "mute a strand, or hear one alone", "Sound", "strands"),
    Key("drone", "o", "o", "drone", "drone: none, the tonic, the tonic and its fifth", "Sound", _session("next_drone")),
    Key(
        "shaped",
        "v",
        "v",
        "shaping",
        "loudness shaped by leans and phrases, or level",
        "Sound",
        _session("turn_shaped"),
    ),
    Key("output", "O", "O", "sound goes to", "choose where the sound goes", "Sound", "outputs", "always"),
)
SEEN = (
    Key(
        "names",
        "g",
        "g",
        "degree names",
        "degrees as numbers, do-based or la-based syllables, note names",
        "What is seen",
        _session("next_degree_names"),
    ),
    Key(
        "home_local",
        "k",
        "k",
        "home or local",
        "degrees in the home key, or in each gesture's own",
        "What is seen",
        _session("turn_home_or_local"),
    ),
    Key("theme", "T", "T", "light or dark", "light or dark look", "What is seen", "theme", "always"),
)
CORRECTING = (
    Key(
        "raise",
        "r",
        "r",
        "weightier",
        "the tone sounds in the next barer skeleton too",
        "Correcting",
        _desk("raise_tone"),
        hint=True,
    ),
    Key(
        "lower",
        "f",
        "f",
        "lighter",
        "the tone leaves the barest skeleton it sounds in",
        "Correcting",
        _desk("lower_tone"),
        hint=True,
    ),
    Key(
        "to_upper",
        "U",
        "U",
        "to upper",
        "give the tone to the upper line",
        "Correcting",
        _desk("give_to", "upper"),
        hint=True,
    ),
    Key(
        "to_middle", "M", "M", "to middle", "give the tone to the middle line", "Correcting", _desk("give_to", "middle")
    ),
    Key(
        "to_lower",
        "L",
        "L",
        "to lower",
        "give the tone to the lower line",
        "Correcting",
        _desk("give_to", "lower"),
        hint=True,
    ),
    Key(
        "to_single",
        "S",
        "S",
        "to single",
        "the melody is one line at this tone",
        "Correcting",
        _desk("give_to", "single"),
    ),
    Key(
        "decorates",
        "x",
        "x",
        "decorates",
        "say which tone it decorates: go there, press x again",
        "Correcting",
        "decorates",
        hint=True,
    ),
    Key(
        "lean",
        "y",
        "y",
        "lean",
        "the tone leans on the next of its line, or not",
        "Correcting",
        _desk("turn_lean"),
        hint=True,
    ),
    Key(
        "link",
        "j",
        "j",
        "join",
        "join the tone with the marked one by a link, or cut the link",
        "Correcting",
        "link",
        "marked",
        hint=True,
    ),
    Key(
        "bridge", "b", "b", "bridge", "a bridge before the tone, or none", "Correcting", _desk("turn_bridge"), hint=True
    ),
    Key(
        "phrase_end",
        "e",
        "e",
        "phrase end",
        "a phrase ends on the tone, or not",
        "Correcting",
        _desk("turn_phrase_end"),
        hint=True,
    ),
    Key(
        "gesture_end",
        "E",
        "E",
        "gesture end",
        "a gesture ends on the tone, or not",
        "Correcting",
        _desk("turn_gesture_end"),
    ),
    Key("home", "H", "H", "home tonic", "the tone is the home tonic; again: major or minor", "Correcting", "home_key"),
    Key(
        "local",
        "K",
        "K",
        "local tonic",
        "the tone is its gesture's tonic; again: major or minor",
        "Correcting",
        "local_key",
    ),
    Key("word", "W", "W", "word", "write a word over the tone", "Correcting", "word"),
    Key(
        "proposal",
        "backspace",
        "backspace",
        "as proposed",
        "forget what was decided about the tone",
        "Correcting",
        _desk("back_to_proposal"),
        "decided",
        hint=True,
    ),
    Key("undo", "z,ctrl+z", "z", "take back", "take back the last correction", "Correcting", "undo", "undo", hint=True),
    Key("redo", "Z,ctrl+y", "Z", "do again", "do again what was taken back", "Correcting", "redo", "redo", hint=True),
)
SCREENS = (
    Key("open", "ctrl+o,F", "F", "open", "choose a phrase or a score", "Screens", "choose", "always", hint=True),
    Key("part", "P", "P", "part", "choose a part of the score", "Screens", "parts", "parts"),
    Key(
        "help",
        "question_mark,f1",
        "?",
        "all keys",
        "all keys, signs and cautions",
        "Screens",
        "help",
        "always",
        hint=True,
    ),
    Key("quit", "q,ctrl+q,ctrl+c", "q", "quit", "leave; the sound stops", "Screens", "leave", "always", hint=True),
)
KEYS: tuple[Key, ...] = (*PLAYING, *WHERE, *LAYER, *TEMPO, *SOUND, *SEEN, *CORRECTING, *SCREENS)


def bindings() -> list[BindingType]:
    """The table as Textual bindings, each with its id."""
    return [Binding(key.keys, key.action, key.short, id=key.id, show=False) for key in KEYS]


def groups() -> Iterator[tuple[Group, tuple[Key, ...]]]:
    """The keys by group, in the table's order."""
    for keys in (PLAYING, WHERE, LAYER, TEMPO, SOUND, SEEN, CORRECTING, SCREENS):
        yield keys[0].group, keys
