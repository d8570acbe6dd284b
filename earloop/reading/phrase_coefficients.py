"""Weights of the cues for a phrase end, in nats: a positive one speaks for a breath.

Origin: fitted by maximum conditional likelihood (a semi-Markov random field, ridge penalty 1) on part of the
development half of the Essen folk songs, where a printed text line is a phrase, rests as given and closed up alike;
cues of little influence were dropped. `start` is the constant. No melody of that collection is kept here.
"""

from __future__ import annotations

FIRST_CUTS: dict[str, float] = {
    "start": -1.50,
    "long": 1.34,
    "longer than before": -0.20,
    "long for its surroundings": 0.79,
    "before a rest": 2.61,
    "leap after": 2.28,
    "same pitch after": 1.01,
    "on the second": 0.18,
    "on the third": 0.19,
    "fifth after": 0.27,
    "falls by step": 0.46,
    "repeats its pitch": 0.33,
    "low in the range": 0.52,
    "starts as the line did, rhythm": 1.90,
    "starts as the line did, pitches": 1.39,
    "ends as the line does, rhythm": 0.40,
    "ends as the line does, intervals": 1.08,
    "a repeat ends here, four tones": 1.20,
}
"""First pass: cues at the tone that would end a phrase."""
FIRST_LENGTHS: dict[str, float] = {
    "tones": 2.69,
    "tones squared": -3.40,
    "far too few tones": 4.53,
    "far too many tones": 2.81,
    "time": -0.60,
    "time squared": -0.49,
    "far too little time": -2.05,
    "far too much time": 0.95,
}
"""First pass: cues of a whole phrase's length."""
SECOND_CUTS: dict[str, float] = {
    "start": -0.32,
    "long": 1.33,
    "longer than before": -0.10,
    "longest of five": -0.40,
    "long for its surroundings": 0.24,
    "before a rest": 1.88,
    "no rest in a line with rests": 0.26,
    "short after": 0.19,
    "leap after": 1.19,
    "rise after": 0.16,
    "same pitch after": 0.64,
    "on the tonic": 0.51,
    "on the second": 0.42,
    "on the third": 0.43,
    "on the fourth": 0.33,
    "on the fifth": 0.39,
    "tonic after": 0.28,
    "fifth after": 0.26,
    "reached by leap": -0.30,
    "low in the range": 0.30,
    "high after": -0.15,
    "starts as the line did, rhythm": 0.67,
    "starts as the line did, pitches": 0.79,
    "ends as the line does, intervals": 0.68,
    "a repeat starts after, rhythm of six": 0.31,
    "a repeat ends here, four tones": 0.50,
    "elsewhere the same rhythm ahead": 0.22,
    "elsewhere the same intervals ahead": 0.29,
    "elsewhere the same pitches here": 0.18,
    "elsewhere the same tones around": -0.89,
    "elsewhere the same tones behind": 0.51,
}
"""Second pass: it also sees what the first found elsewhere in the line."""
SECOND_LENGTHS: dict[str, float] = {
    "tones": 1.82,
    "tones squared": -2.00,
    "far too few tones": 2.30,
    "time": -1.09,
    "time squared": 1.60,
    "far too little time": -2.89,
    "far too much time": -0.99,
    "the line's phrase tones": -0.35,
    "the line's phrase time, exactly": 0.82,
    "the line's phrase time, nearly": -0.18,
    "the line's phrase time, roughly": 0.86,
}
"""Second pass: it also knows how long the line's phrases are."""
THRESHOLD = 0.33
"""A phrase ends where its chance is higher: about half the expected F1, which is best for F1 (Lipton et al. 2014)."""
