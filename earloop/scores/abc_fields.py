"""ABC's information fields: key, meter, unit length, tempo, voice (ABC standard 2.1, sections 3 and 4.6)."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

_MODES = {
    "maj": (0, "major"),
    "ion": (0, "ionian"),
    "min": (-3, "minor"),
    "m": (-3, "minor"),
    "aeo": (-3, "aeolian"),
    "mix": (-1, "mixolydian"),
    "dor": (-2, "dorian"),
    "phr": (-4, "phrygian"),
    "lyd": (1, "lydian"),
    "loc": (-5, "locrian"),
}
_PLACES = dict(zip("FCGDAEB", range(-1, 6), strict=True))
_KEY = re.compile(r"\s*([A-G])\s*([#b]?)\s*([A-Za-z]*)")
_SIGNS = {"^^": 2, "^": 1, "=": 0, "": 0, "_": -1, "__": -2}


@dataclass(frozen=True, slots=True)
class AbcKey:
    """A key field: signature (None where none is given), mode, and the letters it alters."""

    fifths: int | None = None
    mode: str = ""
    alters: dict[str, int] = field(default_factory=dict)
    octaves: int = 0
    semitones: int = 0


def key_of(value: str) -> AbcKey:
    """`D`, `Bb minor`, `Ador`, `none`, `HP`, with `exp` or further accidentals after it, and a clef's octave."""
    octaves, semitones = _moves(value)
    plain = re.sub(r"\S+=\S+|\b(?:treble|bass|alto|tenor|perc|clef)\b\S*", "", value).strip()
    match = _KEY.match(plain)
    if plain[:2] in ("HP", "Hp"):
        return AbcKey(2, "mixolydian", {"F": 1, "C": 1}, octaves, semitones)
    if not match or plain.casefold().startswith("none"):
        return AbcKey(None, "", _further(plain), octaves, semitones)
    fifths = _PLACES[match[1]] + {"#": 7, "b": -7, "": 0}[match[2]]
    word = match[3].casefold()
    shift, mode = _MODES.get(word if word == "m" else word[:3], (0, "major"))
    rest = plain[match.end() :]
    if word.startswith("exp") or "exp" in rest.casefold():
        return AbcKey(None, "", _further(rest), octaves, semitones)
    fifths += shift
    return AbcKey(fifths, mode, {**signature(fifths), **_further(rest)}, octaves, semitones)


def signature(fifths: int) -> dict[str, int]:
    """The letters a signature alters."""
    order = "FCGDAEB" if fifths > 0 else "BEADGCF"
    return {order[i % 7]: (1 + i // 7) * (1 if fifths > 0 else -1) for i in reversed(range(abs(fifths)))}


def _further(text: str) -> dict[str, int]:
    return {m[2].upper(): _SIGNS[m[1]] for m in re.finditer(r"(\^\^|\^|__|_|=)([A-Ga-g])", text)}


def _moves(value: str) -> tuple[int, int]:
    """(octaves, semitones) that a clef or `octave=`, `transpose=` asks for."""
    octaves = int(found[1]) if (found := re.search(r"octave=(-?\d)", value)) else 0
    clef = re.search(r"(?:clef=|^|\s)\"?(?:treble|bass|alto|tenor)\d?([+-])8", value)
    if clef:
        octaves += 1 if clef[1] == "+" else -1
    semitones = int(found[1]) if (found := re.search(r"transpose=(-?\d{1,2})\b", value)) else 0
    return octaves, semitones


def meter_of(value: str) -> tuple[int, int]:
    """`3/4`, `C`, `C|`, `(2+3)/8`; (0, 0) for `none` and for what is no meter."""
    value = value.strip()
    if value in ("C", "C|"):
        return (4, 4) if value == "C" else (2, 2)
    match = re.match(r"\(?(\d{1,2}(?:\s*\+\s*\d{1,2})*)\)?\s*/\s*(\d{1,3})", value)
    if not match or int(match[2]) == 0:
        return (0, 0)
    beats = sum(int(number) for number in match[1].split("+"))
    return (beats, int(match[2])) if beats else (0, 0)


def unit_of(value: str) -> Fraction | None:
    """`1/8` → quarters; None for what is no length."""
    match = re.match(r"\s*(\d{1,3})\s*(?:/\s*(\d{1,4}))?", value)
    if not match or int(match[1]) == 0 or int(match[2] or 1) == 0:
        return None
    return Fraction(4 * int(match[1]), int(match[2] or 1))


def default_unit(meter: tuple[int, int]) -> Fraction:
    """Without L: a sixteenth where the meter is under 3/4, an eighth otherwise (section 3.1.7)."""
    if meter != (0, 0) and Fraction(*meter) < Fraction(3, 4):
        return Fraction(1, 4)
    return Fraction(1, 2)


def tempo_of(value: str, unit: Fraction) -> float | None:
    """`1/4=120`, `"Slow" 3/8=60`, `120` → quarters a minute; None for words alone."""
    value = re.sub(r'"[^"]*"', "", value)
    match = re.search(r"((?:\d+/\d+\s*)+)=\s*(\d{1,4}(?:\.\d{1,4})?)", value)
    if match:
        lengths = re.findall(r"(\d{1,3})/(\d{1,4})", match[1])
        beat = sum(Fraction(int(top), int(bottom)) for top, bottom in lengths if int(bottom))
        return float(4 * beat) * float(match[2]) or None
    match = re.search(r"(?:[CL]\d?\s*=\s*)?(\d{1,4}(?:\.\d{1,4})?)\s*$", value.strip())
    return float(unit) * float(match[1]) or None if match else None


def length_of(code: str) -> Fraction:
    """A note's length code as a multiple of the unit: ``, `3`, `/`, `//`, `3/2`, `/4`."""
    if not code:
        return Fraction(1)
    top, slash, bottom = code.partition("/")
    number = Fraction(int(top[:6]) if top else 1)
    if not slash:
        return number
    digits = bottom.lstrip("/")
    halvings = 1 + len(bottom) - len(digits)
    divisor = int(digits[:6]) if digits else 2 ** min(halvings, 12)
    return number / divisor if divisor else number
