"""How near local keys come to those of analysed chorales, and how long the passages away from home are.

    python -m tests.bench local_keys

Soprano and bass of eight chorales, home key given; truth: the keys in music21's RomanText analyses, which hear all
four parts. A single line can't show all that they do.
"""

from __future__ import annotations

import sys
from collections import Counter
from itertools import groupby
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from chorale_keys import analysed

from earloop.reading.gestures import find_gestures
from earloop.reading.local_keys import find_local_keys
from earloop.reading.record import Tonic


def main() -> None:
    count: Counter[str] = Counter()
    lengths: Counter[int] = Counter()
    for part in analysed():
        home = Tonic(part.home, 1.0, (part.home.pc,), 1.0)
        local = find_local_keys(part.line, home, find_gestures(part.line, part.phrases))
        for key, group in groupby(local, key=lambda own: own.key):
            if key != part.home:
                lengths[sum(len(own.span) for own in group)] += 1
        for own in local:
            for index in own.span.indexes:
                true, said = part.keys[index].pc, own.key.pc
                count["tones"] += 1
                count["right"] += said == true
                count["at home"] += true == part.home.pc
                count["kept"] += said == true == part.home.pc
                count["said away"] += said != part.home.pc
                count["away and right"] += said == true != part.home.pc
    tones, home, away = count["tones"], count["at home"], count["away and right"]
    print(f"local tonics as analysed: {count['right'] / tones:.3f} of {tones} tones (all at home: {home / tones:.3f})")
    print(f"tones at home kept there: {count['kept'] / home:.3f}")
    print(f"tones away from home: precision {away / count['said away']:.2f}, recall {away / (tones - home):.2f}")
    print("passages away from home by their tones:", dict(sorted(lengths.items())))


if __name__ == "__main__":
    main()
