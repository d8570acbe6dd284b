"""Listening while it sounds: a process of its own owns the microphone or keyboard and reports the pitch as it goes."""
