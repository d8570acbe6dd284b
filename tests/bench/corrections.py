"""How many keys it takes to correct the library's pages, from the proposal to the hand readings of record.

    python -m tests.bench corrections

One after another from the page's start, the cursor tone by tone; `tests/screen/test_walk_through.py` goes one page on
the real screen, where whole phrases can be passed over.
"""

from __future__ import annotations

from earloop.reading.record import Voice
from earloop.session.desk import Desk
from tests.hand_records import LINE_KEYS, Record, library, wanted

MOST = 1000
LINES: dict[str, Voice] = {key: line for line, key in LINE_KEYS.items()}  # type: ignore[misc]


def press(desk: Desk, tone: int, keys: list[str]) -> None:
    """What the keys do at the tone; `Y`, some tones on, `Y` says where a lean releases."""
    if keys[0] == "Y":
        desk.lean_to(tone, tone + keys.count("right"))
        return
    acts = {"e": desk.turn_phrase_end, "y": desk.turn_lean, "r": desk.raise_tone, "f": desk.lower_tone}
    for key in keys:
        if key in acts:
            acts[key](tone)
        else:
            desk.give_to(tone, LINES[key])


def keys_for(record: Record) -> tuple[int, int]:
    """Keys that decide, and keys that move the cursor."""
    desk, at, decide, move = Desk(record.line), 0, 0, 0
    while (found := wanted(desk.reading, record)) is not None and decide < MOST:
        tone, keys = found
        press(desk, tone, keys)
        on = keys.count("right")
        decide += len(keys) - on
        move += abs(tone - at) + on
        at = tone + on
    return decide, move


def main() -> None:
    tones = decides = moves = 0
    for record in library():
        decide, move = keys_for(record)
        print(f"{record.name:32} {len(record.line):3} tones  {decide:3} keys decide  {move:4} move")
        tones, decides, moves = tones + len(record.line), decides + decide, moves + move
    print(f"{'all':32} {tones:3} tones  {decides:3} keys decide  {moves:4} move")


if __name__ == "__main__":
    main()
