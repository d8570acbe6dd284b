"""Panels that lie over the stand for a moment: help, the chooser, outputs, strands, parts, a word."""
