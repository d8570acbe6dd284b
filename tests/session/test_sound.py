"""The sound's settings: at once at the player, kept where they belong, following score, reading and pedal."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.reading import Decisions, Key
from earloop.session.session import Session
from earloop.session.sound import Sound
from earloop.session.sound_choices import SoundChoices, TempoRamp, ramp_of
from earloop.sounding.outputs import OutputChoice
from tests.made_lines import line_of
from tests.session.fake_player import FakePlayer

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2")
TWO_PHRASES = Decisions(phrase_ends={5: True, **{i: False for i in range(11) if i != 5}}, home=Key(0))


class TunedPlayer(FakePlayer):
    """One whose sound can go elsewhere, and that a pedal asks."""

    next_asked = 0

    def __init__(self) -> None:
        super().__init__()
        del self.__dict__["output"]  # here a command, not the name of where it goes

    def output(self, choice: OutputChoice) -> None:
        self.asked.append(("output", (choice,)))


class Stand:
    """A session on a player with a pedal, and the sound; `kept` is what was written down."""

    def __init__(self, choices: SoundChoices | None = None) -> None:
        self.player = TunedPlayer()
        self.kept: list[OutputChoice] = []
        self.session = Session(LINE, self.player, decided=TWO_PHRASES)
        self.sound = Sound(self.player, OutputChoice("midi", "Organ"), choices, keep=self.kept.append)
        self.sound.heed(self.session)

    def asked(self, name: str) -> list[tuple[object, ...]]:
        return [values for told, values in self.player.asked if told == name]


def test_tuning_reaches_the_player_within_its_limits() -> None:
    stand = Stand()
    assert stand.asked("tuning") == [], "nothing is told as long as nothing differs"
    for _ in range(30):
        stand.sound.move_a4(-1)
    assert stand.asked("tuning")[0] == (439, None)
    assert stand.asked("tuning")[-1] == (415.0, None)
    stand.sound.turn_just()
    assert stand.asked("tuning")[-1] == (415.0, 0)


def test_just_intervals_follow_the_home_tonic() -> None:
    """Another score, or another home, and the intervals stand over that one's tonic."""
    stand = Stand(SoundChoices(just=True))
    assert stand.asked("tuning") == [(440.0, 0)]
    other = Session(LINE, stand.player, decided=Decisions(home=Key(1)))
    stand.sound.heed(other)
    stand.sound.heed(other)
    assert stand.asked("tuning") == [(440.0, 0), (440.0, 7)]


def test_range_by_semitones_and_octaves() -> None:
    stand = Stand(SoundChoices(transpose=-5))
    for by in (1, -12, -12, -12):
        stand.sound.move_range(by)
    assert stand.asked("transpose") == [(-5,), (-4,), (-16,), (-28,), (-36,)]


def test_a_ramp_begins_at_its_first_tempo_and_ends_with_a_tempo_set_by_hand() -> None:
    stand = Stand()
    stand.sound.move_ramp(first=-10, step=5)
    stand.sound.turn_ramp()
    assert stand.session.choices.tempo == 50
    assert stand.player.asked[-2:] == [("tempo", (0.5,)), ("ramp", (1.0, 0.1))]
    stand.sound.move_ramp(goal=20)
    assert stand.player.asked[-2:] == [("tempo", (0.5,)), ("ramp", (1.2, 0.1))]
    stand.session.faster(5)
    stand.sound.heed(stand.session)
    assert not stand.sound.climbing
    stand.sound.turn_ramp()
    stand.sound.turn_ramp()
    assert stand.player.asked[-1] == ("tempo", (0.5,)), "without a ramp the tempo stands"


@given(st.lists(st.tuples(st.sampled_from(["first", "goal", "step"]), st.integers(-120, 120)), max_size=8))
def test_a_ramp_never_leads_downwards_and_is_one_the_command_line_takes(moves) -> None:
    """What was moved is where it was moved to, as far as it can be; the other end goes along."""
    stand = Stand()
    for name, by in moves:
        before = stand.sound.steps_of_ramp
        stand.sound.move_ramp(**{name: by})
        now = stand.sound.steps_of_ramp
        assert ramp_of(f"{now.first}:{now.goal}:{now.step}") == now
        if name != "step" and by:
            assert getattr(now, name) == min(300, max(10, getattr(before, name) + by))


def test_a_ramp_begins_anew_with_each_score() -> None:
    stand = Stand(SoundChoices(ramp=TempoRamp(60, 80, 4)))
    other = Session(LINE, stand.player)
    stand.sound.heed(other)
    assert other.choices.tempo == 60
    assert stand.asked("ramp") == [(0.8, 0.04)] * 2


def test_the_output_is_changed_piece_by_piece_and_kept() -> None:
    stand = Stand()
    stand.sound.turn_clock()
    stand.sound.turn_latency()
    stand.sound.listen_to("Pedal")
    stand.sound.sound_through("/music/own.sf2")
    stand.sound.move_program("upper", -60)
    stand.sound.send_to(OutputChoice())
    assert stand.kept[-1] == stand.sound.output == stand.asked("output")[-1][0]
    assert stand.sound.output == OutputChoice(
        "speaker", "", True, True, programs=(("upper", 121),), listen="Pedal", soundfont="/music/own.sf2"
    )
    count = len(stand.kept)
    stand.sound.send_to(OutputChoice())
    assert len(stand.kept) == count, "what changes nothing is not written again"


def test_what_the_command_line_asked_for_is_not_kept() -> None:
    """Silent for this once, and the clock turned on the screen: the port stays what was chosen before."""
    kept: list[OutputChoice] = []
    before = OutputChoice("midi", "Organ")
    sound = Sound(TunedPlayer(), OutputChoice("silent"), keep=kept.append, before=before)
    sound.turn_clock()
    assert kept == [OutputChoice("midi", "Organ", clock=True)]
    assert sound.output == OutputChoice("silent", clock=True)


def test_lines_stay_off_the_percussion_channel() -> None:
    """Channel 10 (9 on the wire) has no pitches in General MIDI."""
    stand = Stand()
    seen = {stand.sound.channel("upper")}
    for _ in range(16):
        stand.sound.move_channel("upper", 1)
        seen.add(stand.sound.channel("upper"))
    assert seen == set(range(16)) - {9}


def test_the_pedal_goes_to_the_next_phrase() -> None:
    """Once for each press; what a player set up again has forgotten is no press."""
    stand = Stand()
    stand.player.next_asked = 1
    stand.sound.heed(stand.session)
    stand.sound.heed(stand.session)
    assert stand.session.phrase == 1
    stand.session.previous_phrase()
    stand.player.next_asked = 0
    stand.sound.heed(stand.session)
    assert stand.session.phrase == 0
    stand.player.next_asked = 1
    stand.sound.heed(stand.session)
    assert stand.session.phrase == 1


@pytest.mark.parametrize("before", [0, 3])
def test_what_was_asked_before_the_stand_was_there_is_over(before: int) -> None:
    player = TunedPlayer()
    player.next_asked = before
    session = Session(LINE, player, decided=TWO_PHRASES)
    Sound(player, OutputChoice(), keep=lambda choice: None).heed(session)
    assert session.phrase == 0
