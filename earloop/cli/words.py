"""The words of the command line: what each command takes, and its help."""

from __future__ import annotations

import argparse
from pathlib import Path

from earloop import __version__
from earloop.cli.coaching_words import COACHING, add_coaching, add_plan_to_give, add_replace
from earloop.cli.plain_parser import PlainParser

COMMANDS = ("read", "play", "render", "check", "sing", "ask", "compare", "give", *COACHING, "ports")
LAYERS = ("skeleton", "upper", "lower", "interleaved", "bridged", "held", "ornamented")
QUESTIONS = (
    "where_home", "which_degree", "which_line", "lean_way", "changed_tone", "sing_held", "next_lower", "which_page",
)  # fmt: skip
CARE = (
    "Start soft, rest often, stop at pain. A teacher, an audiologist, a voice or hand specialist decides, not earloop."
)


def parser() -> argparse.ArgumentParser:
    """The parser of all commands."""
    top = PlainParser(
        prog="earloop",
        description="Learn to hear a melody played alone before you play it. With a score (MusicXML, ABC, Humdrum, "
        "MEI, MIDI), or with nothing, the screen opens.",
        epilog=CARE,
    )
    top.add_argument("--version", action="version", version=f"earloop {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    _screen(commands.add_parser("screen", help="open the screen (the same as: earloop FILE)"))
    _read(commands.add_parser("read", help="print the reading of a score, of a folder, or of lines on standard input"))
    _play(commands.add_parser("play", help="sound a layer without the screen"))
    _render(commands.add_parser("render", help="write a layer to a MIDI, WAV or MusicXML file"))
    _check(commands.add_parser("check", help="say how a recording of your singing or playing answers a layer"))
    _ask(commands.add_parser("ask", help="questions for the ear on the score's own reading, on a plain terminal"))
    _compare(commands.add_parser("compare", help="say where your reading and another differ, and how far they agree"))
    _give(commands.add_parser("give", help="put a score and your reading of it into one file to send"))
    add_coaching(commands, _score)
    _sing(commands.add_parser("sing", help="sound a layer, listen to your answer, and say how it was"))
    commands.add_parser("ports", help="say what sound and MIDI there is, and what to do if there is none")
    return top


def _screen(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", nargs="?", type=Path, metavar="FILE", help="a score; without it, the phrase library")
    _score(words)
    words.add_argument("--ascii", action="store_true", help="plain signs only")
    words.add_argument("--theme", choices=("dark", "light", "contrast"), default="dark")
    _sound(words)
    _out_and_in(words)


def _out(words: argparse.ArgumentParser) -> None:
    """Where the sound goes."""
    words.add_argument("--out", default="speaker", metavar="OUT", help="speaker, none, or a MIDI port's name")
    words.add_argument(
        "--program",
        action="append",
        metavar="LINE=NUMBER",
        help="a line's General MIDI program on a port, 1 to 128, such as upper=74; may be given again",
    )


def _out_and_in(words: argparse.ArgumentParser) -> None:
    """Where the sound goes, and what is listened to."""
    _out(words)
    words.set_defaults(out=None)
    words.add_argument(
        "--channel", action="append", metavar="LINE=NUMBER", help="a line's MIDI channel, 1 to 16; may be given again"
    )
    words.add_argument("--low-latency", action="store_true", help="short buffers on the speaker")
    words.add_argument("--clock", action="store_true", help="MIDI clock, start and stop, for a sequencer to follow")
    words.add_argument("--listen", metavar="PORT", help="a MIDI pedal or keyboard that starts, stops, goes on")


def _sound(words: argparse.ArgumentParser) -> None:
    """Tuning, range, growing tempo, and with what it sounds."""
    words.add_argument("--a4", type=float, default=440.0, metavar="HZ", help="tuning of A4, 415 to 466: 440")
    words.add_argument("--just", action="store_true", help="just intervals over the home tonic, as over a drone")
    words.add_argument(
        "--transpose", metavar="STEPS", help="to your range: semitones such as -12, or --transpose=-P8, +m3, P5"
    )
    words.add_argument("--ramp", metavar="FROM:TO:STEP", help="each pass a little faster, in percent: 60:100:5")
    words.add_argument("--soundfont", type=Path, metavar="FILE", help="a SoundFont (.sf2) of your own on the speaker")


def _score(words: argparse.ArgumentParser) -> None:
    """What to take from a score with several parts, tunes, measures."""
    words.add_argument("--part", metavar="P", help="a part's number (from 1) or name; default: the first melodic one")
    words.add_argument("--tune", metavar="T", help="a tune's number or title in an ABC book")
    words.add_argument("--from", dest="first_measure", type=int, metavar="M", help="first measure, as printed")
    words.add_argument("--to", dest="last_measure", type=int, metavar="M", help="last measure, as printed")
    words.add_argument("--unfold", action="store_true", help="play repeats out instead of reading them once")


def _own_or_proposed(words: argparse.ArgumentParser) -> None:
    words.add_argument("--proposal", action="store_true", help="as earloop proposes it, without what you decided")


def _read(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", nargs="?", type=Path, metavar="FILE", help="a score, or a folder of scores")
    _score(words)
    _own_or_proposed(words)
    words.add_argument("--json", action="store_true", help="the whole reading as JSON")
    words.add_argument("--describe", action="store_true", help="told in sentences that a screen reader can speak")
    words.add_argument("--batch", action="store_true", help="JSON Lines of tones in, JSON Lines of readings out")
    words.add_argument("--jobs", type=int, default=1, metavar="N", help="processes (with --batch or a folder)")
    words.add_argument("--scheduler", default="", metavar="ADDRESS", help="an existing Dask cluster's scheduler")
    words.add_argument("-o", "--output", type=Path, metavar="OUT", help="where a folder's readings go (JSON Lines)")
    words.add_argument("--written", action="store_true", help="a transposing instrument's written pitches")


def _layer(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score")
    _score(words)
    _which_layer(words)
    words.add_argument("--tempo", type=int, default=100, metavar="PERCENT", help="10 to 300 percent of the score's own")
    words.add_argument("--loops", type=int, metavar="N", help="how many times: 1; with a ramp, until its goal")
    words.add_argument("--drone", choices=("off", "tonic", "fifth"), default="off")
    words.add_argument("--count-in", type=int, default=0, metavar="BEATS")
    words.add_argument("--answer-gap", action="store_true", help="silence after each pass, to sing it back")
    words.add_argument("--level-loudness", action="store_true", help="every tone equally loud")


def _which_layer(words: argparse.ArgumentParser) -> None:
    _own_or_proposed(words)
    words.add_argument("--layer", choices=LAYERS, default="skeleton")
    words.add_argument("--depth", type=int, choices=range(6), help="how bare: 0 the page, 5 a few tones a phrase")
    words.add_argument("--phrase", type=int, metavar="N", help="one phrase, from 1; default: the whole line")
    words.add_argument("--closed", action="store_true", help="close up the rests where another line speaks")


def _play(words: argparse.ArgumentParser) -> None:
    _layer(words)
    _sound(words)
    _out_and_in(words)


def _render(words: argparse.ArgumentParser) -> None:
    _layer(words)
    _sound(words)
    words.add_argument("-o", "--output", type=Path, required=True, metavar="OUT", help="x.mid, x.wav or x.musicxml")
    add_replace(words)


def _measure(words: argparse.ArgumentParser) -> None:
    words.add_argument("--tolerance", type=float, default=50.0, metavar="CENTS", help="what still counts as right: 50")
    words.add_argument(
        "--held", type=float, default=60.0, metavar="PERCENT", help="of its length that a tone must last: 60"
    )
    words.add_argument("--relative", action="store_true", help="your own reference pitch, found from your singing")


def _check(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score")
    _score(words)
    _which_layer(words)
    words.add_argument("--take", type=Path, required=True, metavar="TAKE", help="your recording: WAV, FLAC or MP3")
    _measure(words)
    words.add_argument(
        "--beat", action="store_true", help="late and early against a beat from your first tone, not in your own time"
    )
    words.add_argument("--tempo", type=int, default=100, metavar="PERCENT", help="of the score's own, with --beat")
    words.add_argument("--json", action="store_true", help="the answers as JSON")


def _compare(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score; what you decided about it is one side")
    words.add_argument(
        "other",
        metavar="OTHER",
        help="the other side: a file of kept decisions (.earloop.toml), a package (.earloop.zip), another edition "
        "with its own, "
        "or the word proposal",
    )
    _score(words)
    words.add_argument("--depth", type=int, choices=range(6), default=2, help="the skeleton that is compared: 2")
    words.add_argument("--json", action="store_true", help="the figures and differences as JSON")


def _give(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score; it goes in untouched, with what you decided")
    _score(words)
    add_plan_to_give(words)
    words.add_argument(
        "-o", "--output", type=Path, metavar="OUT", help="x.earloop.zip; default: beside the score, by its name"
    )
    add_replace(words)


def _ask(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score")
    _score(words)
    words.add_argument("--phrase", type=int, metavar="N", help="one phrase, from 1; default: all of them")
    words.add_argument("--kind", choices=QUESTIONS, action="append", help="one kind of question; may be given again")
    words.add_argument("--count", type=int, default=8, metavar="N", help="how many questions: 8")
    words.add_argument("--seed", type=int, metavar="S", help="the same seed asks the same")
    words.add_argument("--tempo", type=int, default=100, metavar="PERCENT", help="10 to 300 percent of the score's own")
    words.add_argument(
        "--names", choices=("numbers", "do", "la", "notes"), default="numbers", help="how degrees are called"
    )
    words.add_argument("--listen", default="", metavar="PORT", help="a MIDI keyboard to answer on")
    words.add_argument(
        "--input", default="", metavar="IN", help="a microphone's name, midi:NAME or file:TAKE to sing to"
    )
    words.add_argument("--wait", action="store_true", help="sound a question only after Enter, when it has been read")
    words.add_argument("--list", action="store_true", help="only say what there is to ask about, and end")
    _out(words)


def _sing(words: argparse.ArgumentParser) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score")
    _score(words)
    _which_layer(words)
    words.add_argument(
        "--input",
        metavar="IN",
        help="a microphone's name, midi:NAME, or file:TAKE as though sung now; else the last one",
    )
    words.add_argument(
        "--way",
        choices=("gap", "along", "own-time"),
        default="gap",
        help="answer in the gap after each pass, along with the sound, or in your own time after it (until you pause)",
    )
    words.add_argument("--passes", type=int, default=1, metavar="N", help="how many times")
    words.add_argument("--tempo", type=int, default=100, metavar="PERCENT", help="10 to 300 percent of the score's own")
    words.add_argument("--drone", choices=("off", "tonic", "fifth"), default="off")
    words.add_argument("--count-in", type=int, default=0, metavar="BEATS")
    _measure(words)
    words.add_argument("--beat", action="store_true", help="late and early against the beat, not in your own time")
    words.add_argument("--beat-ms", type=float, default=100.0, metavar="MS", help="what still counts as on it: 100")
    words.add_argument("--keep", type=Path, metavar="TAKE", help="keep the last take: x.wav, x.flac; of keys x.mid")
    add_replace(words)
    words.add_argument("--json", action="store_true", help="a line of JSON for each pass")
    _sound(words)
    _out_and_in(words)
