"""Weights of the cues for a phrase end, in nats: a positive one speaks for a breath.

Origin: fitted by maximum conditional likelihood (a semi-Markov random field, ridge penalty 1) on part of the
development half of the Essen folk songs, where a printed text line is a phrase, rests as given and closed up alike;
cues of little influence were dropped. `start` is the constant. No melody of that collection is kept here.
"""

from __future__ import annotations

FIRST_CUTS: dict[str, float] = {
    "start": -1.46,
    "long": 1.32,
    "longer than before": -0.19,
    "long for its surroundings": 0.75,
    "before a rest": 2.63,
    "leap after": 2.21,
    "same pitch after": 0.96,
    "on the third": 0.15,
    "fifth after": 0.24,
    "falls by step": 0.38,
    "low in the range": 0.51,
    "starts as the line did, rhythm": 1.91,
    "starts as the line did, pitches": 1.37,
    "ends as the line does, rhythm": 0.40,
    "ends as the line does, intervals": 1.07,
    "a repeat ends here, four tones": 1.26,
}
"""First pass: cues at the tone that would end a phrase."""
FIRST_LENGTHS: dict[str, float] = {
    "tones": 2.67,
    "tones squared": -3.32,
    "far too few tones": 4.43,
    "far too many tones": 2.67,
    "time": -0.68,
    "time squared": -0.71,
    "far too little time": -1.47,
    "far too much time": 1.22,
}
"""First pass: cues of a whole phrase's length."""
SECOND_CUTS: dict[str, float] = {
    "start": -0.59,
    "long": 1.52,
    "longer than before": -0.15,
    "longest of five": -0.29,
    "long for its surroundings": 0.47,
    "before a rest": 2.36,
    "leap after": 1.48,
    "same pitch after": 0.73,
    "on the tonic": 0.41,
    "on the second": 0.36,
    "on the third": 0.39,
    "on the fifth": 0.25,
    "tonic after": 0.23,
    "fifth after": 0.28,
    "falls by step": 0.22,
    "reached by leap": -0.31,
    "low in the range": 0.47,
    "starts as the line did, rhythm": 1.14,
    "starts as the line did, pitches": 1.17,
    "ends as the line does, intervals": 0.89,
    "a repeat ends here, four tones": 0.80,
    "elsewhere the same rhythm ahead": 0.18,
    "elsewhere the same intervals ahead": 0.27,
    "elsewhere the same pitches here": 0.17,
    "elsewhere the same tones around": -0.97,
    "elsewhere the same tones behind": 0.47,
}
"""Second pass: it also sees what the first found elsewhere in the line."""
SECOND_LENGTHS: dict[str, float] = {
    "tones": 2.07,
    "tones squared": -2.32,
    "far too few tones": 2.69,
    "time": -1.19,
    "time squared": 1.61,
    "far too little time": -2.85,
    "far too much time": -0.74,
    "the line's phrase time, exactly": 0.59,
    "the line's phrase time, roughly": 0.76,
    "the line's phrase tones": -0.22,
}
"""Second pass: it also knows how long the line's phrases are."""
THRESHOLD = 0.33
"""A phrase ends where its chance is higher: about half the expected F1, which is best for F1 (Lipton et al. 2014)."""
