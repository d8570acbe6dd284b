"""Every key of the stand in one table: bindings, the hint line and help all read it.

Toggles only: a terminal tells of no key's release. Nothing needs a lone Escape. Small letters play and look,
capitals and a few small ones correct; neighbours with one `short` share one place in the hint line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from textual.binding import Binding, BindingType

When = Literal["always", "score", "picking", "releasing", "marked", "undo", "redo", "decided", "unplaced"]


@dataclass(frozen=True, slots=True)
class Key:
    """`keys` in Textual's names, comma separated; `shown` is how the first of them is written for people.

    `short` is for the hint line, `words` for help. `when` says where the key applies; `hint` whether the hint line
    is to name it. `action` is an action of the stand.
    """

    id: str
    keys: str
    short: str
    words: str
    action: str
    shown: str = ""
    when: When = "score"
    hint: bool = False

    @property
    def written(self) -> str:
        """The key as people write it; arrows are in braces for the signs to fill in."""
        return self.shown or self.keys.partition(",")[0]


def _session(name: str, *values: object) -> str:
    return f"session({', '.join(map(repr, (name, *values)))})"


def _desk(name: str, *values: object) -> str:
    return f"desk({', '.join(map(repr, (name, *values)))})"


def _layer(number: int, name: str) -> Key:
    words = f"layer {number}: {name}"
    return Key(f"layer_{name}", str(number), "layer", words, _session("choose_layer", name), hint=True)


_LAYERS = ("skeleton", "upper", "lower", "interleaved", "bridged", "held", "ornamented")
_LINES = (("U", "upper"), ("M", "middle"), ("L", "lower"))

PLAYING = (
    Key("play", "space", "play", "start the loop, or stop it", _session("play_or_stop"), hint=True),
    Key("seek", "enter", "from here", "let the sound go on from the cursor", "seek"),
    Key("loop", "l", "loop", "loop the phrase, the gesture, the marks or the whole", _session("next_loop"), hint=True),
    Key("mark", "m", "mark", "mark the tone; the second mark loops between the two", _session("mark"), hint=True),
    Key("answer", "a", "answer gap", "a silence after each pass, to sing it back", _session("turn_answer_gap")),
    Key("count", "i", "count-in", "count before the first pass", _session("turn_count_in")),
)
WHERE = (
    Key("left", "left", "tone", "cursor to the tone before", "step(-1)", "{left}", hint=True),
    Key("right", "right", "tone", "cursor to the next tone", "step(1)", "{right}", hint=True),
    Key("gesture_before", "up", "gesture", "cursor to the gesture before", "gesture(-1)", "{up}"),
    Key("gesture_next", "down", "gesture", "cursor to the next gesture", "gesture(1)", "{down}"),
    Key("next", "n,pagedown", "phrase", "next phrase", _session("next_phrase"), hint=True),
    Key("previous", "p,pageup", "phrase", "phrase before", _session("previous_phrase"), hint=True),
    Key("first", "home", "start", "cursor to the first tone", _session("point_at", 0), "Home"),
    Key("last", "end", "end", "cursor to the last tone", _session("point_at", 10**9), "End"),
)
LAYER = (
    *(_layer(number, name) for number, name in enumerate(_LAYERS, start=1)),
    Key("deeper", "d", "depth", "a barer layer: only weightier tones", _session("deeper", 1), hint=True),
    Key("closer", "c", "depth", "a fuller layer: closer to the page", _session("deeper", -1), hint=True),
    Key("switch", "w", "switch", "layers change at the loop's seam, or at once", _session("turn_switching")),
    Key("time", "t", "time", "true time, or closed up over the other line's rests", _session("turn_time")),
)
TEMPO = (
    Key("faster", "plus", "tempo", "tempo 5 % faster", _session("faster", 5), "+", hint=True),
    Key("slower", "minus", "tempo", "tempo 5 % slower", _session("faster", -5), "-", hint=True),
    Key("faster_1", "right_square_bracket", "tempo", "tempo 1 % faster", _session("faster", 1), "]"),
    Key("slower_1", "left_square_bracket", "tempo", "tempo 1 % slower", _session("faster", -1), "["),
    Key("tempo_100", "0,equals_sign", "tempo 100", "tempo back to 100 %", _session("set_tempo", 100)),
)
SOUND = (
    Key("softer", "less_than_sign,comma", "level", "softer", _session("louder", -0.05), "<"),
    Key("louder", "greater_than_sign,full_stop", "level", "louder", _session("louder", 0.05), ">"),
    Key("strands", "s", "strands", "mute a strand, or hear one alone", "strands"),
    Key("drone", "o", "drone", "drone: none, the tonic, the tonic and its fifth", _session("next_drone")),
    Key("shaped", "v", "shaping", "loudness shaped by leans and phrases, or level", _session("turn_shaped")),
    Key("settings", "u", "sound", "sound settings: tuning, range, ramp, pedal, programs", "sound_settings"),
    Key("output", "O", "sound to", "choose where the sound goes: speaker, MIDI port, silent", "outputs", when="always"),
)
SEEN = (
    Key("names", "g", "names", "degrees: numbers, syllables, note names", _session("next_degree_names")),
    Key("home_local", "k", "key", "degrees in the home key, or in each gesture's own", _session("turn_home_or_local")),
    Key("why", "h", "why", "why the reading says so: all reasons at the tone", "why", hint=True),
    Key("theme", "T", "look", "look: dark, light, high contrast", "theme", when="always"),
)
CORRECTING = (
    Key("raise", "r", "weight", "weightier: it sounds in a barer skeleton too", _desk("raise_tone"), hint=True),
    Key("lower", "f", "weight", "lighter: it leaves the barest skeleton it is in", _desk("lower_tone"), hint=True),
    *(
        Key(f"to_{name}", key, "line", f"give the tone to the {name} line", _desk("give_to", name), hint=True)
        for key, name in _LINES
    ),
    Key("to_single", "S", "line", "the melody is one line at this tone", _desk("give_to", "single"), hint=True),
    Key("lean", "y", "lean", "it leans on the next tone of its line, or not", _desk("turn_lean"), hint=True),
    Key("leans_to", "Y", "lean", "choose the tone it releases to: Y here, then Y there", "leans_to", hint=True),
    Key("bridge", "b", "bridge", "a bridge before the tone, or none", _desk("turn_bridge"), hint=True),
    Key("phrase_end", "e", "ends", "a phrase ends on the tone, or not", _desk("turn_phrase_end"), hint=True),
    Key("gesture_end", "E", "ends", "a gesture ends on the tone, or not", _desk("turn_gesture_end"), hint=True),
    Key("decorates", "x", "decorates", "say which tone it decorates: x here, then x there", "decorates", hint=True),
    Key("link", "j", "join", "join it with the marked tone, or cut their link", "link", when="marked", hint=True),
    Key("home", "H", "home", "it is the home tonic; again: the other mode", "home_key"),
    Key("local", "K", "here", "it is the tonic here (gesture or marks); again: other mode", "local_key"),
    Key("word", "W", "word", "write a word over the tone", "word"),
    Key("proposal", "backspace", "as proposed", "forget what was decided about the tone",
        _desk("back_to_proposal"), when="decided", hint=True),
    Key("place", "X", "place", "put decisions that lost their tone at the cursor", "place", when="unplaced", hint=True),
    Key("undo", "z,ctrl+z", "take back", "take back the last correction", "undo", when="undo", hint=True),
    Key("redo", "Z,ctrl+y", "again", "do again what was taken back", "redo", when="redo", hint=True),
)  # fmt: skip
SCREENS = (
    Key("open", "F,ctrl+o", "open", "open a phrase, or any score", "choose", when="always", hint=True),
    Key("give", "G", "give", "the score with your reading as one file to send", "give"),
    Key("compare", "C", "compare", "compare with another reading: see, hear, take over", "compare"),
    Key("sing", "V", "sing back", "sing or play the layer back, and see how it was", "sing", hint=True),
    Key("ask", "A", "ask the ear", "ask the ear: questions on this phrase", "ask_the_ear", hint=True),
    Key("plan", "D", "today", "today's plan: steps to change and start, and what is due", "plan", hint=True),
    Key("journal", "J", "journal", "journal: minutes a day, layers, degrees, shaky links", "journal"),
    Key("map", "N", "map", "map of the whole piece: go to any phrase", "map", hint=True),
    Key("part", "P", "part", "choose a part of the score, or a tune of the book", "parts"),
    Key("help", "question_mark,f1", "all keys", "all keys, signs and cautions", "help", "?", "always", True),
    Key("quit", "q,ctrl+q,ctrl+c", "quit", "leave; the sound stops", "leave", when="always", hint=True),
)
GROUPS: dict[str, tuple[Key, ...]] = {
    "Playing": PLAYING,
    "Where": WHERE,
    "Layer": LAYER,
    "Tempo": TEMPO,
    "Sound": SOUND,
    "What is seen": SEEN,
    "Correcting the tone at the cursor": CORRECTING,
    "Screens": SCREENS,
}
KEYS: tuple[Key, ...] = tuple(key for keys in GROUPS.values() for key in keys)
BY_ID: dict[str, Key] = {key.id: key for key in KEYS}
PICKING = (
    *(key for key in WHERE if key.hint),
    Key("pick", "x", "decorates this one", "", "decorates", when="picking"),
    Key("pick_none", "q,backspace", "leave it", "", _desk("back_to_proposal"), when="picking"),
)
"""What applies while a tone waits for the one it decorates."""
RELEASING = (
    *(key for key in WHERE if key.hint),
    Key("release", "Y", "releases to this one", "", "leans_to", when="releasing"),
    Key("release_none", "q,backspace", "leave it", "", _desk("back_to_proposal"), when="releasing"),
)
"""What applies while a lean waits for its release."""


def bindings() -> list[BindingType]:
    """The table as Textual bindings, each with its id."""
    return [Binding(key.keys, key.action, key.short, id=key.id, show=False) for key in KEYS]


def shared_bindings(*ids: str) -> list[BindingType]:
    """These rows for another screen, where they do what they do on the stand."""
    return [Binding(key.keys, key.action, key.short, show=False) for key in map(BY_ID.__getitem__, ids)]
