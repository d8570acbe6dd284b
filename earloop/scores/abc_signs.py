"""ABC's decorations in the words of MusicXML (ABC standard 2.1, section 4.14)."""

from __future__ import annotations

SHORTHAND = {
    ".": "staccato",
    "~": "roll",
    "H": "fermata",
    "L": "accent",
    "M": "lowermordent",
    "O": "coda",
    "P": "uppermordent",
    "S": "segno",
    "T": "trill",
    "u": "upbow",
    "v": "downbow",
}
ORNAMENTS = {
    "trill": "trill-mark",
    "trill(": "trill-mark",
    "lowermordent": "mordent",
    "mordent": "mordent",
    "uppermordent": "inverted-mordent",
    "pralltriller": "inverted-mordent",
    "turn": "turn",
    "turnx": "turn",
    "invertedturn": "inverted-turn",
    "invertedturnx": "inverted-turn",
    "slide": "schleifer",
    "roll": "other-ornament",
}
ARTICULATIONS = {
    "staccato": "staccato",
    ">": "accent",
    "accent": "accent",
    "emphasis": "accent",
    "^": "strong-accent",
    "marcato": "strong-accent",
    "tenuto": "tenuto",
    "wedge": "staccatissimo",
    "upbow": "up-bow",
    "downbow": "down-bow",
    "open": "open-string",
    "snap": "snap-pizzicato",
    "plus": "stopped",
    "thumb": "thumb-position",
}
BREAKS = {
    "breath": "breath",
    "caesura": "caesura",
    "shortphrase": "breath",
    "mediumphrase": "breath",
    "longphrase": "breath",
}
DYNAMICS = frozenset(["pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "sfz", "fp", "sf", "rfz"])
HAIRPINS = {"crescendo": "crescendo", "<": "crescendo", "diminuendo": "diminuendo", ">": "diminuendo"}
LEAPS = {
    "D.C.": "da capo",
    "dacapo": "da capo",
    "D.S.": "dal segno",
    "D.C.alfine": "da capo al fine",
    "D.S.alfine": "dal segno al fine",
    "D.C.alcoda": "da capo al coda",
    "D.S.alcoda": "dal segno al coda",
}
BAR_SIGNS = {"segno": "segno", "coda": "coda", "fine": "fine", "dacoda": "to coda"}
