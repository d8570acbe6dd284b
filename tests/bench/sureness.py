"""How sure readers say they are, beside how often they are right: lines, phrases, leans, links and motives.

    python -m tests.bench sureness            every reader
    python -m tests.bench sureness lines      some of them: lines, phrases, leans, links, motives

Lines and links: folded lines of known voices, on another seed than the numbers were fitted on. Phrases: folk songs
(with tunes left out of the fit: `python -m tests.bench phrase_sure`). Both through ../shared/eval, development halves.
Leans: the hand-read sets, each score by a fit without it. Motives: made cases and hand-read pages; how many songs have
by chance is counted by `python -m tests.bench motive_chance`.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Iterable, Iterator
from importlib import import_module
from itertools import permutations, product
from pathlib import Path
from types import ModuleType

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from hand_records import library

from earloop.cli.batch import line_from
from earloop.line import Span
from earloop.line.line import Flags, Floats
from earloop.reading import Decisions, read
from earloop.reading.motives import find_motives
from earloop.reading.voices import find_voices
from tests.bench.bar_lines import printed
from tests.bench.lean_fit import said_left_out
from tests.reading.test_motives import Made, filler, joined, made_motive, treated

SCRIPTS = Path(__file__).resolve().parents[3] / "shared" / "eval"
SEED = 31
"""A folding and a draw of tunes that no number of a reader was fitted on."""
LINES, TUNES, MOTIVES = 320, 400, 150
"""Folded lines, metered tunes and made cases of each treatment that are read: a few minutes in all."""
FULL = 30
"""Fewer proposals than this say nothing of a share."""
TENTHS = ((0.0, 0.5), (0.5, 0.6), (0.6, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 1.01))
NEAR = (0.85, 0.95)
"""What counts as said to be about 90 % sure."""
DRAWS = 200
"""How often right and wrong are drawn by the word's own chances, to see what gap luck alone makes."""

Said = list[tuple[float, bool]]


def table(said: Said) -> None:
    """Said and right by tens of the stated chance, and the widest gap where there are enough to tell."""
    for low, high in TENTHS:
        own = [row for row in said if low <= row[0] < high]
        if own:
            chance, right = (100 * float(np.mean([row[k] for row in own])) for k in (0, 1))
            few = "" if len(own) >= FULL else "  (few)"
            print(f"    said {chance:5.1f} %  right {right:5.1f} %  of {len(own):6d}{few}")
    near = [right for chance, right in said if NEAR[0] <= chance < NEAR[1]]
    if near:
        print(f"    said about 90 %: {100 * np.mean(near):.1f} % right of {len(near)}")
    if said:
        chances, rights = (np.array([row[k] for row in said], dtype=np.float64) for k in (0, 1))
        dice = np.random.default_rng(SEED)
        draws = [widest(chances, dice.random(len(said)) < chances) for _ in range(DRAWS)]
        luck, most = np.percentile(draws, [50, 95])
        print(f"    widest gap where {FULL} or more were said: {widest(chances, rights):.1f} points", end="; ")
        print(f"a true word would show {luck:.1f} by luck of so few, {most:.1f} once in 20")


def widest(said: Floats, right: Floats | Flags) -> float:
    """The widest gap, in points, between said and right in any bin that has enough of them."""
    inside = [(said >= low) & (said < high) for low, high in TENTHS]
    gaps = [abs(float(said[own].mean() - right[own].mean())) for own in inside if own.sum() >= FULL]
    return 100 * max(gaps, default=0.0)


def by_piece(rows: list[Said]) -> None:
    """Each piece's mean said beside its share right: fifths of the pieces, least sure first."""
    means = sorted((float(np.mean([s for s, _ in row])), float(np.mean([r for _, r in row]))) for row in rows if row)
    for part in np.array_split(np.array(means), 5):
        said, right = (100 * float(column.mean()) for column in part.T)
        print(f"    said {said:5.1f} %  right {right:5.1f} %  of {len(part):3d} pieces")
    gaps = [abs(said - right) for said, right in means]
    print(f"    a piece strays from its word by {100 * np.mean(gaps):.1f} points on average")


def scripts(name: str) -> ModuleType:
    if not (SCRIPTS / f"{name}.py").exists():
        sys.exit("The open-data scripts (../shared/eval) are not beside the project.")
    if str(SCRIPTS) not in sys.path:
        sys.path.insert(0, str(SCRIPTS))
    return import_module(name)


def folds() -> Iterator[tuple[str, list[dict[str, float]], list[int]]]:
    rows = scripts("voices").lines(half="dev", seed=SEED)
    yield from random.Random(SEED).sample(rows, min(LINES, len(rows)))


def matched(labels: Iterable[str], truth: list[int]) -> list[bool]:
    """Which labels are right under the best naming of the two true lines."""
    own = list(labels)
    names = [*sorted(set(own)), "", ""]
    pairs = permutations(names, 2) if len(set(own)) > 1 else [(names[0], names[0])]
    ways = ([label == pair[true] for label, true in zip(own, truth, strict=True)] for pair in pairs)
    return max(ways, key=sum)


def lines() -> None:
    several: list[Said] = []
    whole: list[Said] = []
    for column, tones, truth in folds():
        labels, sure = find_voices(line_from({"tones": tones}))
        own = list(zip(sure, matched(labels, truth), strict=True))
        (whole if column == "MONO" else several).append(own)
    for name, rows in (("two voices folded into one line", several), ("single voices", whole)):
        print(f"  {name}, by tone")
        table([row for own in rows for row in own])
        print(f"  {name}, by piece")
        by_piece(rows)


def links() -> None:
    said: Said = []
    for column, tones, truth in folds():
        if column == "MONO":
            continue
        wanted = scripts("voices").links(truth)
        said += [(link.sure, (link.first, link.second) in wanted) for link in read(line_from({"tones": tones})).links]
    table(said)


def phrases() -> None:
    """What is shipped, by kind of tune; `phrase_sure` measures it with tunes left out of the fit."""
    essen, own = scripts("essen"), scripts("phrases")
    meters = printed(essen)
    for metered, closed in product((True, False), (False, True)):
        said: Said = []
        for tune in own.sample("dev", TUNES, SEED):
            if tune["metered"] == metered:
                beats, unit, _ = meters[tune["id"]]
                meter = {"beats": beats, "unit": unit} if metered else None
                reading = read(line_from({"tones": essen.tones(tune["notes"], closed), "meter": meter}))
                ends = zip(reading.phrases[:-1], reading.phrase_sure[:-1], strict=True)
                said += [(sure, span.last in own.truth(tune["notes"])) for span, sure in ends]
        print(f"  {'metered' if metered else 'unmetered'} tunes, rests {'closed up' if closed else 'given'}")
        table(said)


def leans() -> None:
    for name, parted in (("with other parts", True), ("alone", False)):
        for place, unpicked in (("picked or our own", False), ("nobody picked", True)):
            print(f"  lines {name}, {place}")
            table(said_left_out(parted, unpicked))


def short_motive(chance: random.Random) -> Made:
    """A motive of three to eight tones, as melodies have them."""
    while True:
        motive = made_motive(chance)[: chance.randint(3, 8)]
        if len({time for _, time in motive}) > 1:
            return motive


def wandering(chance: random.Random, size: int) -> Made:
    """Tones such as melodies go by, mostly steps in few lengths, where chance likenesses are common."""
    height, out = chance.randint(32, 38), []
    for _ in range(size):
        out.append((height, chance.choice([0.5, 0.5, 0.5, 1.0, 1.0, 1.5, 2.0])))
        height = max(28, min(44, height + chance.choice([-3, -2, -1, -1, -1, 1, 1, 1, 2, 3, 0])))
    return out


def motives() -> None:
    said: Said = []
    treatments = [name for name, _, _ in treated(random.Random(0), made_motive(random.Random(0)))]
    for seed, treatment, around in product(range(MOTIVES), treatments, (filler, wandering)):
        chance = random.Random(f"{5000 + seed} {treatment} {around.__name__}")
        model, made = next((m, a) for name, m, a in treated(chance, short_motive(chance)) if name == treatment)
        line, spans = joined([around(chance, 4), model, around(chance, 7), made, around(chance, 6), around(chance, 5)])
        for groups in (spans, (line.whole,)):
            for found in find_motives(line, (line.whole,), groups):
                if found.treatment != "new":
                    # A run inside a part that comes back as it was does come back, whatever becomes of the rest.
                    named = found.treatment in (treatment, "repeated")
                    right = named and _inside(found.span, spans[3]) and _inside(found.model, spans[1])
                    said.append((found.sure, right))
    print(
        "  made cases, each likeness planted, so that more are right than in real tunes, for which the word is fitted:"
    )
    print("  an answer is right inside the part that was made from the model, named as it was made")
    table(said)
    said = []
    for record in library():
        rows = record.card["reading"].get("motives", [])
        by_hand = {(row["first"], row["last"], row["treatment"], row["steps"]) for row in rows}
        for motive in read(record.line, Decisions(home=record.key)).motives if rows else ():
            if motive.treatment != "new":
                own = (motive.span.first, motive.span.last, motive.treatment, motive.steps)
                said.append((motive.sure, own in by_hand))
    print("  our library's pages that are read by hand for motives: an answer is right as it was read by hand")
    table(said)


def _inside(span: Span, part: Span) -> bool:
    """Whether a span keeps to a part; a chance likeness next door may add a tone at either end."""
    return part.first - 1 <= span.first and span.last <= part.last + 1


READERS: dict[str, Callable[[], None]] = {
    "lines": lines,
    "links": links,
    "phrases": phrases,
    "leans": leans,
    "motives": motives,
}


def main() -> None:
    for name in sys.argv[1:] or READERS:
        print(name)
        READERS[name]()


if __name__ == "__main__":
    main()
