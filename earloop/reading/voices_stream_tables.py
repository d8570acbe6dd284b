"""The fitted numbers of the question 'one line or two', as log-odds for two lines at each tone.

Origin: logistic regression (ridge 2e-4, classes weighted alike) on sums over windows of 12 to 120 tones: the
development half of the open evaluation (two-part folds, seeds 1 and 2) against single voices of the same pieces, as
they stand, with even lengths, and with neighbor ornaments added, and against 412 folk tunes of the phrase evaluation's
development half. Then 0.06 was added to the first number: 95 % of 412 other folk tunes stay whole.
"""

EVIDENCE = (-0.32, 0.41, -0.72, 0.57, 0.41, 0.31, -0.54, 0.39, -0.14, -0.31, -0.28, -0.06)
"""In order: every tone; step on the page and inside its line (in octaves, an octave at most); how clear the split is;
changes line; crosses the other line; step on the page; step inside its line; repeated tone; leaps there and back;
step inside where the page leaps; changes line by step."""
MOST = 1.5
"""No single tone says more than this."""
STAY = 9.0
"""Log-odds against changing between one line and two from tone to tone: set by hand, as is PRIOR."""
PRIOR = -3.0
"""Log-odds for two lines before a tone is heard, so that two or three tones alone stay one line."""
