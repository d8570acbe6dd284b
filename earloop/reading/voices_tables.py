"""The fitted numbers of the implied-lines reader: log-weights of each cue, higher is likelier.

Origin: fitted for earloop by conditional likelihood (L-BFGS, ridge 2e-5) on two-part counterpoint folded into one
line: Bach chorale pairs SA, SB, AT, TB and Palestrina's upper pair from music21's corpus, the development half of
the open evaluation, seeds 1 to 3. Upper and lower share every number (a line turned upside down reads the same
way), and only intervals and ratios of length enter.
"""

# Melodic interval inside a line in semitones 0..15 and wider, then: no earlier tone known.
# STEP_ON: the tone before is of the same line; STEP_ACROSS: tones of the other lie between.
STEP_ON = (
    1.41,
    1.97,
    1.74,
    0.55,
    0.56,
    0.56,
    -0.01,
    0.36,
    -0.33,
    -0.35,
    -0.18,
    -0.23,
    -0.56,
    -0.66,
    -1.06,
    -1.74,
    -0.09,
)
STEP_ACROSS = (
    1.41,
    1.53,
    1.32,
    1.28,
    1.06,
    0.96,
    0.06,
    0.21,
    -0.47,
    -0.70,
    -1.20,
    -1.69,
    -0.96,
    -1.45,
    -1.81,
    -2.74,
    -0.09,
)
# Across: per doubling of the lag in tones; extra where one tone lies between.
LAG = (0.12, -0.67)
# Distance to the other line's last tone, towards one's own side: twelve interval classes 0..11; crossed;
# crossed, per octave; apart, per octave; unison.
STAND_ON = (
    -0.57,
    -0.66,
    -0.56,
    -0.47,
    -0.57,
    -0.39,
    -0.34,
    -0.54,
    -0.40,
    -0.28,
    -0.29,
    -0.52,
    0.09,
    -0.21,
    0.15,
    -0.09,
)
STAND_ACROSS = (-0.74, -1.29, -1.34, -0.16, -0.18, -0.38, 0.17, -0.27, 0.29, 0.48, 0.10, 0.15, -0.34, 1.81, 2.01, -1.23)
# Groups (ornament and main tone count as one) in the other line's last run, 1 to 4 and more, down; groups in the
# run that ends, across.
RUN_ENDS = (
    (0.71, 0.92, -0.41, -0.64),
    (0.64, 0.23, -0.37, -0.62),
    (-0.55, -1.20, 0.85, -0.24),
    (-0.50, -0.90, 0.20, -0.45),
)

# The same rows and columns, for a run that goes on.
RUN_GOES_ON = (
    (0.04, 0.64, -0.09, -0.04),
    (0.09, 0.67, 0.05, -0.04),
    (1.00, 0.53, 0.49, -0.39),
    (0.61, 0.66, 0.75, -0.26),
)

# Changing lines here: at the middle, end, just after, at the start of a neighbor figure; the same four where its
# lengths are 2:1:1; on the main tone of, after, and at the start of a leaning ornament of lengths 1:3.
CHANGE_AT_FIGURE = (0.27, 0.41, 0.40, 0.18, -1.64, -1.27, 0.71, -0.20, -2.72, 0.35, 0.78)
# Changing lines by length against the tone before (far shorter, shorter, equal, longer, far longer); the same of
# the tone before against the one before it.
CHANGE_BY_LENGTH = (-0.03, -0.22, -0.54, -0.24, -0.62)
CHANGE_BY_LENGTH_BEFORE = (-0.67, -1.58, 0.10, 0.62, 0.33)
# Length against the line's last tone across: shorter, equal, longer, unknown.
LENGTH_ACROSS = (1.44, 1.36, 0.73, 0.00)
# Motion into the line's last tone (none, step, leap) by motion on from it (leap back, step back, none, step on,
# leap on), then unknown: last run of one group, of more.
GOES_ON_ACROSS = (
    (0.00, 0.00, 0.84, 0.63, -0.13, -1.10, 0.15, 0.54, 0.40, -0.79, -0.61, 0.32, 0.35, 0.43, 0.16, 0.00),
    (0.00, 0.00, -0.10, -0.27, -1.19, -1.13, -0.21, 0.30, 0.82, -0.79, -0.52, -0.00, 0.05, 0.11, -0.45, -0.00),
)

# The same inside a run of three tones and more.
GOES_ON = (0.00, 0.00, -0.20, 0.33, 0.04, 0.09, 1.34, 0.57, 0.28, 0.30, 0.92, 0.78, 0.06, 0.48, 0.16)
