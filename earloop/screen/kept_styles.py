"""Style sheets that are parsed once for each look: that takes as long as drawing the screen in another look."""

from __future__ import annotations

from textual.cache import LRUCache
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet

MOST_SOURCES = 256
"""More than there are kinds of widgets, each with a sheet of its own."""
Parsed = LRUCache[tuple[object, ...], list[RuleSet]]


class KeptStyles(Stylesheet):
    """Remembers what was parsed for each set of colours; `prepare` parses for another ahead of its time."""

    def __init__(self, variables: dict[str, str]) -> None:
        super().__init__(variables=variables)
        self._looks: dict[tuple[tuple[str, str], ...], Parsed] = {}
        self._parse_cache = self._parsed_for(variables)

    def set_variables(self, variables: dict[str, str]) -> None:
        """From now on these colours."""
        # Textual empties what it has parsed so far.
        self._parse_cache = LRUCache(1)
        super().set_variables(variables)
        self._parse_cache = self._parsed_for(variables)

    def reparse(self) -> None:
        """Take the rules for the colours there are now."""
        self.parse()

    def prepare(self, variables: dict[str, str]) -> None:
        """Parse for other colours. May be called from any thread."""
        other = Stylesheet(variables=variables)
        other._parse_cache = self._parsed_for(variables)
        other.source = dict(self.source)
        other.parse()

    def _parsed_for(self, variables: dict[str, str]) -> Parsed:
        return self._looks.setdefault(tuple(sorted(variables.items())), LRUCache(MOST_SOURCES))
