"""Weights of the cues for a phrase end, in nats: a positive one speaks for a breath.

Origin: fitted by maximum conditional likelihood (a semi-Markov random field, ridge penalty 1) on part of the
development half of the Essen folk songs, where a printed text line is a phrase, rests as given and closed up alike;
cues of little influence were dropped. `start` is the constant. No melody of that collection is kept here.
"""

from __future__ import annotations

FIRST_CUTS: dict[str, float] = {
    "start": -1.27,
    "long": 0.79,
    "long for its surroundings": 0.98,
    "before a rest": 2.41,
    "no rest in a line with rests": 0.34,
    "leap after": 0.99,
    "leap after for its surroundings": 1.10,
    "same pitch after": 1.03,
    "falls by step": 0.26,
    "low in the range": 0.50,
    "starts as the line did, rhythm": 1.95,
    "starts as the line did, pitches": 1.67,
    "ends as the line does, rhythm": 0.36,
    "ends as the line does, intervals": 1.15,
    "a repeat ends here, four tones": 1.10,
}
"""First pass: cues at the tone that would end a phrase."""
FIRST_LENGTHS: dict[str, float] = {
    "tones squared": -1.69,
    "far too few tones": 1.72,
    "far too many tones": 2.51,
    "time": 1.03,
    "time squared": -3.05,
    "far too little time": 1.67,
    "far too much time": 2.45,
}
"""First pass: cues of a whole phrase's length."""
SECOND_CUTS: dict[str, float] = {
    "start": 0.12,
    "long": 0.73,
    "longer than before": -0.10,
    "longer than after": -0.27,
    "longest of five": -0.41,
    "long for its surroundings": 0.99,
    "before a rest": 1.42,
    "short after": 0.38,
    "upbeat after": 0.11,
    "leap after for its surroundings": 1.07,
    "same pitch after": 0.54,
    "on the tonic": 0.24,
    "on the second": 0.25,
    "on the third": 0.46,
    "on the fifth": 0.38,
    "tonic after": 0.29,
    "fifth after": 0.35,
    "falls by step": 0.21,
    "low in the range": 0.29,
    "on the last pitch": 0.28,
    "opening pitch after": -0.33,
    "starts as the line did, rhythm": 0.64,
    "starts as the line did, pitches": 1.37,
    "ends as the line does, intervals": 0.58,
    "a repeat starts after, rhythm of six": 0.41,
    "elsewhere the same rhythm ahead": 0.29,
    "elsewhere the same intervals ahead": 0.34,
    "elsewhere the same pitches here": 0.13,
    "elsewhere the same tones around": -0.91,
    "elsewhere the same tones behind": 0.73,
}
"""Second pass: it also sees what the first found elsewhere in the line."""
SECOND_LENGTHS: dict[str, float] = {
    "tones": 0.88,
    "tones squared": -1.29,
    "far too few tones": 1.27,
    "time squared": -0.09,
    "far too little time": -0.56,
    "the line's phrase tones": -0.21,
    "the line's phrase time, exactly": 0.75,
    "the line's phrase time, roughly": 0.30,
}
"""Second pass: it also knows how long the line's phrases are."""
SURE_CUES: dict[str, float] = {
    "always": -0.38,
    "second pass": 0.573,
    "first pass": 0.164,
    "open": 0.561,
    "open, second pass": 0.325,
    "unequal": -1.121,
    "unequal, second pass": -0.524,
}
"""How the chances are to be believed, as log odds: see `phrase_sure`.

Fitted by ridge logistic regression on the Essen songs' development half, rests as given and closed up alike, unmetered
tunes counting five times; `python -m tests.bench phrase_sure` fits it, and measures it with each fifth left out.
"""
FREE_SLOPE = 0.82
"""What the log odds of an end are worth where no even measure carries the line.

Fitted on 95 unmetered tunes of those and 351 whose bar lines come at unequal distances; same command.
"""
FREE_MOST = 0.93
"""The surest that is said there. Set by hand: of ends said to be 95 % sure and more by the chances alone, .904 of 104
were right in the unmetered tunes and .964 of 641 in the others, each tune left out of the fit.
"""
