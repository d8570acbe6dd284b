"""Singing back on the screen: the live trace of the pitch against the layer's tones, and each answer tone by tone."""
