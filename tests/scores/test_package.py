"""A score with its reading as one file: there and back, and every package that must be refused."""

from __future__ import annotations

import hashlib
import struct
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings

from earloop.line import Line
from earloop.reading import Decisions, read
from earloop.scores import ScoreError, list_parts, load_line
from earloop.scores.kept_form import parse
from earloop.scores.kept_places import beside
from earloop.scores.kept_reading import KeptReading
from earloop.scores.kept_writing import new_document, written
from earloop.scores.other_readings import kept_about, other_reading, text_to_give
from earloop.scores.package import free_package_name, read_package, write_package
from earloop.scores.received import receive, received_about
from tests.laws.test_reading_laws import decided_lines

TUNE = "X:1\nT:Quay\nM:4/4\nL:1/4\nK:G\nG A B c | d c B A | B d g f |]\n"
DECIDED = Decisions(levels={3: 5}, words={5: "far bell"}, phrase_ends={3: True})
READING = "format = 1\n[[tone]]\nnumber = 2\nlevel = 4 # as in the lesson\n"


@pytest.fixture
def score(tmp_path: Path) -> Path:
    path = tmp_path / "sender" / "quay.abc"
    path.parent.mkdir()
    path.write_text(TUNE, encoding="utf-8")
    return path


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "receiver-data"


def given_away(score: Path, decided: Decisions = DECIDED, name: str = "quay") -> Path:
    line = load_line(score)
    return write_package(
        score.with_name(f"{name}.earloop.zip"), score, written(new_document("Quay"), decided, line), "Quay", {}
    )


def test_the_score_goes_byte_for_byte_and_the_reading_with_its_comments(score: Path, data: Path) -> None:
    beside(score).write_text(READING, encoding="utf-8")
    line = load_line(score)
    package = write_package(score.with_name("x.earloop.zip"), score, text_to_give(score, line), "Quay", {})
    received = receive(package, data)
    assert received.score.read_bytes() == score.read_bytes()
    assert "# as in the lesson" in beside(received.score).read_text(encoding="utf-8")
    assert KeptReading(received.score, load_line(received.score), data).decided == Decisions(levels={1: 4})


@settings(max_examples=25, deadline=None)
@given(case=decided_lines())
def test_any_reading_comes_out_as_it_went_in(tmp_path_factory: pytest.TempPathFactory, case) -> None:
    line, decided = case
    folder = tmp_path_factory.mktemp("any")
    score = folder / "any.abc"
    score.write_text(TUNE, encoding="utf-8")
    text = written(new_document("any"), decided, line)
    package = read_package(write_package(folder / "any.earloop.zip", score, text, "any", {}))
    found = parse(package.reading, "any").decided
    assert found == decided
    assert read(line, found) == read(line, decided)


def test_any_zip_program_can_look_inside(score: Path) -> None:
    """A plain ZIP archive by the standard's own reader, all members whole, none in a folder."""
    with zipfile.ZipFile(given_away(score)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["package.toml", "quay.abc", "quay.abc.earloop.toml"]


def test_it_is_a_score_wherever_a_score_is_opened(score: Path) -> None:
    package = given_away(score)
    line: Line = load_line(package)
    assert (line.title, line.tones) == (load_line(score).title, load_line(score).tones)
    assert [part.tones for part in list_parts(package)] == [12]


def test_the_receivers_own_decisions_stay_as_they_are(score: Path, tmp_path: Path, data: Path) -> None:
    """The same score with decisions of one's own, next to a package about it: both stand, each where it was."""
    package = given_away(score)
    mine = tmp_path / "receiver" / "quay.abc"
    mine.parent.mkdir()
    mine.write_text(TUNE, encoding="utf-8")
    own = KeptReading(mine, load_line(mine), data)
    own.save(Decisions(levels={0: 1}))
    own.close()
    before = beside(mine).read_bytes()
    received = receive(package, data)
    theirs = KeptReading(received.score, load_line(received.score), data)
    assert theirs.decided == DECIDED
    theirs.save(Decisions(levels={1: 2}))
    theirs.close()
    assert beside(mine).read_bytes() == before
    assert received.score.parent.name in received.note
    # Opened again: with what was decided in the copy since, and the package still has what was sent.
    again = receive(package, data)
    assert KeptReading(again.score, load_line(again.score), data).decided == Decisions(levels={1: 2})
    assert other_reading(package, load_line(mine)).decided == DECIDED
    assert kept_about(package, load_line(package), data=data).decided == Decisions(levels={1: 2})
    # Beside one's own, the copy is found by the score's name; beside the copy itself it is not offered.
    assert received_about(mine, data) == [beside(received.score)]
    assert received_about(received.score, data) == []


def test_packages_of_one_name_lie_apart(score: Path, tmp_path: Path, data: Path) -> None:
    first = given_away(score)
    moved = tmp_path / first.name
    first.rename(moved)
    second = given_away(score, Decisions(levels={0: 2}))
    assert receive(moved, data).score != receive(second, data).score


def test_the_part_that_was_read_goes_along(tmp_path: Path, data: Path) -> None:
    score = tmp_path / "pair.abc"
    score.write_text("X:1\nT:P\nM:4/4\nL:1/4\nK:C\nV:1\nc d e f|]\nV:2\nC D E F|]\n", encoding="utf-8")
    line = load_line(score, part=2)
    text = written(new_document("P"), Decisions(levels={1: 5}), line)
    package = write_package(tmp_path / "p.earloop.zip", score, text, "P", {"part": 2, "tune": None})
    received = receive(package, data)
    assert received.choice == {"part": 2}
    assert load_line(package).tones == line.tones
    assert load_line(package, part=1).tones != line.tones
    assert kept_about(package, load_line(package), data=data).decided == Decisions(levels={1: 5})


@pytest.mark.parametrize("name", ["a:b?.abc", "..hidden.abc", "é ü.abc", "x" * 180 + ".abc"])
def test_odd_names_can_be_given_and_opened(tmp_path: Path, data: Path, name: str) -> None:
    score = tmp_path / name
    score.write_text(TUNE, encoding="utf-8")
    received = receive(given_away(score), data)
    assert received.score.read_text(encoding="utf-8") == TUNE
    assert received.score.is_relative_to(data)


def test_nothing_is_written_over(score: Path) -> None:
    package = given_away(score)
    before = package.read_bytes()
    with pytest.raises(ScoreError, match="is there already: choose another name"):
        given_away(score)
    assert package.read_bytes() == before
    assert free_package_name(score.parent, score).name == "quay.2.earloop.zip"
    with pytest.raises(ScoreError, match="should end in"):
        write_package(score.with_name("quay.zip"), score, READING, "Quay", {})
    with pytest.raises(ScoreError, match="can't be written"):
        write_package(score.parent / "nowhere" / "x.earloop.zip", score, READING, "Quay", {})
    assert sorted(path.name for path in score.parent.iterdir()) == ["quay.abc", "quay.earloop.zip"]


def test_a_plan_goes_along_and_stays_out_where_there_is_none(score: Path, data: Path) -> None:
    """Its text as it was given; a package without one has no such member."""
    bare = receive(given_away(score), data)
    assert bare.plan == ""
    with zipfile.ZipFile(score.with_name("quay.earloop.zip")) as archive:
        assert len(archive.namelist()) == 3
    told = '{"phrase": 1, "näme": "…"}'
    path = write_package(score.with_name("p.earloop.zip"), score, READING, "Quay", {}, told)
    assert receive(path, data).plan == told
    assert receive(path, data).plan == told


SUM = hashlib.sha256(TUNE.encode()).hexdigest()
GOOD = f'package = 1\nscore = "quay.abc"\nreading = "quay.abc.earloop.toml"\nscore_sha256 = "{SUM}"\n'


def packed(folder: Path, members: dict[str, bytes | str], name: str = "bad.earloop.zip") -> Path:
    path = folder / name
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for inner, content in members.items():
            archive.writestr(inner, content)
    return path


def manifest(**changes: str) -> str:
    rows = dict(row.split(" = ", 1) for row in GOOD.splitlines()) | changes
    return "".join(f"{key} = {value}\n" for key, value in rows.items())


def whole(text: str, score: str = "quay.abc") -> dict[str, bytes | str]:
    return {"package.toml": text, score: TUNE, "quay.abc.earloop.toml": READING}


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ({"quay.abc": TUNE}, "holds no package.toml"),
        ({"package.toml": GOOD, "quay.abc": TUNE}, "holds no quay.abc.earloop.toml"),
        ({"package.toml": GOOD, "quay.abc.earloop.toml": READING}, "holds no quay.abc:"),
        (whole("package = \n"), "is not TOML"),
        (whole("\udcff".encode("utf-8", "surrogateescape").decode("latin-1")), "is not TOML"),
        (whole(manifest(package="2")), "schema number 2, this earloop reads 1"),
        (whole(GOOD.replace("package = 1\n", "")), "schema number none"),
        (whole(manifest(score='"../quay.abc"'), "../quay.abc"), "can't be one"),
        (whole(manifest(score='"/etc/quay.abc"'), "/etc/quay.abc"), "can't be one"),
        (whole(manifest(score=r'"..\\quay.abc"'), "..\\quay.abc"), "can't be one"),
        (whole(manifest(score='"C:quay.abc"'), "C:quay.abc"), "can't be one"),
        (whole(manifest(score='".quay.abc"'), ".quay.abc"), "can't be one"),
        (whole(manifest(score='"quay.exe"'), "quay.exe"), "can't be one"),
        (whole(manifest(score="3")), "can't be one"),
        (whole(manifest(reading='"../../x.earloop.toml"')), "can't be one"),
        (whole(manifest(score_sha256='"00"')), "not the one its reading was made for"),
        (whole(manifest(choice="{part = [1]}")), "makes no sense"),
        (whole(manifest(choice="{unfold_repeats = 3}")), "makes no sense"),
        (whole(manifest(choice="4")), "makes no sense"),
        (whole(manifest(plan='"../plan.json"')), "can't be one"),
        (whole(manifest(plan='"plan.json"')), "holds no plan.json"),
        ({**whole(manifest(plan='"plan.json"')), "plan.json": b"\xff"}, "damaged"),
        ({**whole(GOOD), "quay.abc.earloop.toml": b"\xff\xfe\x00"}, "damaged"),
        ({**whole(GOOD), "quay.abc.earloop.toml": b"x" * (5 * 1024 * 1024 + 1)}, "unpacks to more than 5 MB"),
        ({**whole(GOOD), "package.toml": b"#" * 70_000}, "unpacks to more than 1 MB"),
        ({**whole(GOOD), "quay.abc": b"\x00" * (50 * 1024 * 1024 + 1)}, "unpacks to more than 50 MB"),
    ],
)
def test_what_is_no_good_package_gets_one_sentence(tmp_path: Path, data: Path, members: dict, said: str) -> None:
    """Also paths that lead out of the folder (zip-slip) and archives that grow (zip bombs): nothing is written."""
    path = packed(tmp_path, members)
    with pytest.raises(ScoreError) as refused:
        receive(path, data)
    assert said in refused.value.sentence
    assert "\n" not in refused.value.sentence
    assert not data.exists() or not any(data.rglob("*.abc"))
    with pytest.raises(ScoreError, match=r"bad\.earloop\.zip"):
        load_line(path)


def test_a_reading_that_is_none_is_refused_when_it_is_opened(tmp_path: Path, data: Path) -> None:
    path = packed(tmp_path, {**whole(GOOD), "quay.abc.earloop.toml": "format = 1\n[[tone]]\nlevel = 3\n"})
    with pytest.raises(ScoreError, match="line 2: this tone lacks number"):
        other_reading(path, load_line(path))
    received = receive(path, data)
    with pytest.raises(ScoreError, match="line 2: this tone lacks number"):
        KeptReading(received.score, load_line(received.score), data)


def test_a_lie_about_a_members_size_unpacks_no_more_than_allowed(tmp_path: Path) -> None:
    """The directory says 10 bytes, the stream goes on to 60 MB: what is read stops at the limit or fails its check."""
    path = packed(tmp_path, {**whole(GOOD), "quay.abc": b"\x00" * (60 * 1024 * 1024)})
    raw = bytearray(path.read_bytes())
    true = struct.pack("<I", 60 * 1024 * 1024)
    for at in (i for i in range(len(raw) - 3) if raw[i : i + 4] == true):
        raw[at : at + 4] = struct.pack("<I", 10)
    path.write_bytes(raw)
    with pytest.raises(ScoreError, match=r"bad\.earloop\.zip"):
        read_package(path)


def test_members_twice_locked_or_cut_short_are_refused(score: Path, tmp_path: Path) -> None:
    good = given_away(score).read_bytes()
    with zipfile.ZipFile(tmp_path / "two.earloop.zip", "w") as archive:
        archive.writestr("package.toml", GOOD)
        with pytest.warns(UserWarning, match="Duplicate"):
            archive.writestr("package.toml", GOOD)
    locked = bytearray(good)
    for sign, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = locked.find(sign)
        while place >= 0:
            locked[place + at] |= 1
            place = locked.find(sign, place + 1)
    cases = {
        "two": (None, "more than one package.toml"),
        "locked": (bytes(locked), "password"),
        "short": (good[: len(good) // 2], "damaged"),
        "none": (b"", "damaged"),
        "text": (b"this is no archive", "damaged"),
    }
    for name, (content, said) in cases.items():
        path = tmp_path / f"{name}.earloop.zip"
        if content is not None:
            path.write_bytes(content)
        with pytest.raises(ScoreError, match=said):
            read_package(path)
    with pytest.raises(ScoreError, match="no file"):
        read_package(tmp_path / "nowhere.earloop.zip")


@settings(max_examples=12, deadline=None)
@given(cut=decided_lines().map(lambda case: len(case[0])))
def test_damage_anywhere_is_one_sentence_or_harmless(tmp_path_factory: pytest.TempPathFactory, cut: int) -> None:
    """One byte changed, at a place that the example chooses: refused in one sentence, or what was sent."""
    folder = tmp_path_factory.mktemp("damage")
    score = folder / "quay.abc"
    score.write_text(TUNE, encoding="utf-8")
    good = given_away(score)
    raw = bytearray(good.read_bytes())
    told: list[str] = []
    for k in range(12):
        bad = bytearray(raw)
        bad[(cut * 37 + k * 101) % len(raw)] ^= 0xFF
        path = folder / "bad.earloop.zip"
        path.write_bytes(bad)
        try:
            found = read_package(path).score.decode()
        except ScoreError as refused:
            found = TUNE
            told.append(refused.sentence)
        assert found == TUNE
    assert not any("\n" in sentence for sentence in told)
