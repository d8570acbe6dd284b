"""The phrase with something left out or added: the catalogue of layers and their builders."""

from earloop.layers.catalogue import CATALOGUE, NAMES, Entry, build, entry
from earloop.layers.layer import Layer, LayerName, LayerTone
from earloop.layers.one_line import shared

__all__ = ["CATALOGUE", "NAMES", "Entry", "Layer", "LayerName", "LayerTone", "build", "entry", "shared"]
