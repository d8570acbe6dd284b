"""Whether one span is another one ornamented: its tones are all there, each within its own time."""

from __future__ import annotations

from earloop.reading.motive_shapes import Place, Shapes


def ornament_steps(shapes: Shapes, plain: Place, ornate: Place) -> int | None:
    """The diatonic transposition at which `ornate` is `plain` with more tones, or None where it isn't.

    Each plain tone must sound in the ornate span somewhere between its own onset and the next one's (place in time
    taken from the span's start). Of five tones or more one may be missing. Three tones count untransposed only.
    """
    height, onset = shapes.heights, shapes.onsets
    model = height[plain[0] : plain[1] + 1]
    times = [at - onset[plain[0]] for at in onset[plain[0] : plain[1] + 1]]
    heard = height[ornate[0] : ornate[1] + 1]
    places = [at - onset[ornate[0]] for at in onset[ornate[0] : ornate[1] + 1]]
    windows: list[set[int]] = [set() for _ in model]
    window = 0
    for pitch, at in zip(heard, places, strict=True):
        while window + 1 < len(times) and at >= times[window + 1] - 1e-3:
            window += 1
        windows[window].add(pitch)
    missing_allowed = 1 if len(model) >= 5 else 0
    for shift in sorted({pitch - model[0] for pitch in windows[0]}, key=abs):
        missing = sum(tone + shift not in window for tone, window in zip(model, windows, strict=True))
        if missing <= missing_allowed and (len(model) > 3 or shift == 0):
            return shift
    return None
