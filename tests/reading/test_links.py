"""Links, chains and bridges: the phrase library's hand readings, small examples and the laws."""

from __future__ import annotations

import pytest
from hand_records import library
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Span, Tone
from earloop.line.pitch import Pitch, pitch_from_name
from earloop.reading import Decisions, read
from earloop.reading.decisions import NONE_DECIDED
from earloop.reading.links import find_links, why_link
from earloop.reading.record import Bridge, Chain, Link, Voice, Weights

Found = tuple[tuple[Link, ...], tuple[Chain, ...], tuple[Bridge, ...]]
VOICES: dict[str, Voice] = {"u": "upper", "m": "middle", "l": "lower", "s": "single"}


def level_weights(levels: list[int]) -> Weights:
    size = len(levels)
    return Weights((0,) * size, (0.0,) * size, tuple(levels), ("structural",) * size, (0.5,) * size)


def find(names: str, lines: str, levels: list[int] | None = None, decided: Decisions = NONE_DECIDED) -> Found:
    tones = tuple(Tone(0.5 * i, 0.5, pitch_from_name(name)) for i, name in enumerate(names.split()))
    line = Line(tones)
    voices = tuple(VOICES[sign] for sign in lines.split())
    return find_links(line, (line.whole,), voices, level_weights(levels or [5] * len(tones)), decided)


def test_a_link_is_no_surer_than_the_least_sure_label_it_needs() -> None:
    """One wrong label between its tones breaks a link."""
    names = ("G3", "B4", "A3", "C5", "B3", "D5")
    tones = tuple(Tone(0.5 * i, 0.5, pitch_from_name(name)) for i, name in enumerate(names))
    line, voices = Line(tones), tuple(VOICES[sign] for sign in "lululu")
    told = find_links(line, (line.whole,), voices, level_weights([5] * 6), NONE_DECIDED, (1, 1, 1, 0.7, 1, 1))[0]
    sure = {(link.first, link.second): link.sure for link in told}
    assert sure[0, 2] > 0.95
    assert sure[2, 4] == sure[1, 3] == sure[3, 5] < 0.75


def test_alternating_lines_link_by_step_and_make_chains_but_no_bridges() -> None:
    links, chains, bridges = find("G3 B4 A3 C5 B3 D5", "l u l u l u")
    assert [(x.first, x.second, x.voice, x.steps) for x in links] == [
        (0, 2, "lower", 1),
        (1, 3, "upper", 1),
        (2, 4, "lower", 1),
        (3, 5, "upper", 1),
    ]
    assert [(c.tones, c.voice, c.name) for c in chains] == [
        ((0, 2, 4), "lower", "rising by step"),
        ((1, 3, 5), "upper", "rising by step"),
    ]
    assert bridges == ()


def test_thirds_make_a_chain_of_their_own() -> None:
    _, chains, _ = find("F3 C3 A3 C3 C4 C3 E4", "u l u l u l u")
    assert [(c.tones, c.name) for c in chains] == [((0, 2, 4, 6), "rising by third")]


def test_a_wide_leap_is_no_link() -> None:
    links, chains, _ = find("G3 B5 D4 C6", "l u l u")
    assert [(x.first, x.second) for x in links] == [(1, 3)]
    assert chains == ()


def test_a_long_interruption_wants_a_bridge() -> None:
    _, _, bridges = find("G4 C3 D3 E3 F3 F4", "u l l l l u")
    assert bridges == (Bridge(0, 5),)


def test_a_single_line_links_the_tones_that_carry_it() -> None:
    links, chains, bridges = find("E5 F5 E5 D5 E5 D5 C5", "s s s s s s s", [5, 0, 0, 4, 0, 0, 5])
    assert [(x.first, x.second, x.steps) for x in links] == [(0, 3, -1), (3, 6, -1)]
    assert [(c.tones, c.name) for c in chains] == [((0, 3, 6), "falling by step")]
    assert bridges == ()


def test_decisions_outrank_the_proposal() -> None:
    decided = Decisions(links={(0, 2): False, (0, 5): True}, bridges={4: True, 5: False})
    links, chains, bridges = find("G3 B4 A3 C5 B3 D5", "l u l u l u", decided=decided)
    pairs = {(x.first, x.second) for x in links}
    assert (0, 2) not in pairs
    assert (0, 5) in pairs
    assert all(c.voice != "lower" for c in chains)
    assert bridges == (Bridge(2, 4),)


def test_why_is_one_sentence() -> None:
    tones = tuple(Tone(0.5 * i, 0.5, pitch_from_name(name)) for i, name in enumerate(["G3", "B4", "A3", "C5"]))
    reading = read(Line(tones), Decisions(voices={0: "lower", 1: "upper", 2: "lower", 3: "upper"}))
    link = Link(0, 2, "lower", 1, 0.9)
    assert why_link(reading, link) == "The lower line goes up by step, G3 to A3, across one tone that lies between."
    joined = Link(0, 1, "lower", 9, 1.0)
    assert why_link(reading, joined) == "The lower line goes up by 9 steps, G3 to B4, with no tone between."


@pytest.mark.parametrize("record", [r for r in library() if "chains" in r.card["reading"]], ids=lambda r: r.name)
def test_hand_read_chains_are_found(record: object) -> None:
    """Given the lines by hand, each chain of record that something interrupts lies in a chain found."""
    line, voices = record.line, record.voices  # type: ignore[attr-defined]
    _, chains, _ = find_links(line, record.phrases, voices, level_weights([5] * len(line)))  # type: ignore[attr-defined]
    for wanted in record.card["reading"]["chains"]:  # type: ignore[attr-defined]
        tones = wanted["tones"]
        if tones[-1] - tones[0] >= len(tones):
            assert any(set(tones) <= set(c.tones) and c.name == wanted["name"] for c in chains), wanted


def test_hand_read_bridges_are_found() -> None:
    wanted = [(r, r.card["reading"]["bridges"]) for r in library() if "bridges" in r.card["reading"]]
    assert wanted
    for record, rows in wanted:
        weights = level_weights([5] * len(record.line))
        _, _, bridges = find_links(record.line, record.phrases, record.voices, weights)
        assert {(row["tone"], row["before"]) for row in rows} <= {(b.tone, b.before) for b in bridges}


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(24, 48), st.sampled_from([0.0, 0.5, 1.0]), st.sampled_from("umls"), st.integers(0, 5)),
        min_size=1,
        max_size=40,
    )
)
def test_any_line_is_read_and_transposition_changes_nothing(rows: list[tuple[int, float, str, int]]) -> None:
    """Laws 1 and 3; chains have three tones or more and go one way."""
    at, tones = 0.0, []
    for height, length, _, _ in rows:
        tones.append(Tone(at, length, Pitch(height % 7, 0, height // 7), grace=length == 0))
        at += length
    line = Line(tuple(tones))
    phrases = (Span(0, len(rows) - 1),)
    voices = tuple(VOICES[sign] for _, _, sign, _ in rows)
    weights = level_weights([level for _, _, _, level in rows])
    first = find_links(line, phrases, voices, weights)
    assert first == find_links(line.transposed(2, 3), phrases, voices, weights)
    for chain in first[1]:
        moves = {b - a for a, b in zip(_heights(line, chain)[:-1], _heights(line, chain)[1:], strict=True)}
        assert len(chain.tones) >= 3
        assert len(moves) == 1


def _heights(line: Line, chain: Chain) -> list[int]:
    return [line[i].pitch.height for i in chain.tones]
