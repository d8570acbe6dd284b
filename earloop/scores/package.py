"""One file to send: a score, what was decided about it, and a few words on both. `NAME.earloop.zip`, schema 1.

An ordinary ZIP archive (APPNOTE 6.3) of three members or four, none in a folder:

    package.toml                      # what follows; the only name that is fixed
    two-rooks.musicxml                # the score, byte for byte
    two-rooks.musicxml.earloop.toml   # the decisions, as docs/kept-decisions.md describes them
    plan.json                         # where a plan for one phrase is given too, as coaching/plan.py writes it

    package = 1                       # the schema's number
    title = "Two Rooks"
    score = "two-rooks.musicxml"
    reading = "two-rooks.musicxml.earloop.toml"
    plan = "plan.json"                # where there is one
    score_sha256 = "…"                # so that a reading never stands beside another score than its own
    [choice]                          # what was taken of the score, in the words of `load_line`
    part = 2

Only these are ever read, by the very names the manifest gives; a name with a folder in it is refused, and so is
anything that unpacks to more than a score can be. Further members and fields are left alone.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from earloop.scores.errors import ScoreError
from earloop.scores.formats import FORMATS, LARGEST
from earloop.scores.kept_places import ENDING
from earloop.whole_file import whole_file

PACKAGE_ENDING = ".earloop.zip"
MANIFEST = "package.toml"
PLAN = "plan.json"
SCHEMA = 1
LARGEST_TEXT = 5 * 1024 * 1024
CHOICES: dict[str, tuple[type, ...]] = {
    "part": (int, str),
    "tune": (int, str),
    "first_measure": (int,),
    "last_measure": (int,),
    "unfold_repeats": (bool,),
}
_A_NAME = re.compile(r"[^\x00-\x1f/\\:*?\"<>|.][^\x00-\x1f/\\:*?\"<>|]{0,199}")
"""A file's name that means the same everywhere: no folder, no drive, not hidden, no sign a system forbids."""


@dataclass(frozen=True, slots=True)
class Package:
    """A package that was read whole. `mark` is made of all its bytes; `choice` goes to `load_line`.

    `plan` is JSON text, not looked into here; empty where there is none.
    """

    name: str
    score_name: str
    score: bytes
    reading: str
    title: str
    choice: dict[str, Any]
    mark: str
    plan: str = ""


def is_package(path: Path) -> bool:
    """Whether the name says that it is one."""
    return path.name.lower().endswith(PACKAGE_ENDING)


def read_package(path: Path) -> Package:
    """The package at `path`. Raises ScoreError with one sentence for anything that isn't a good one."""
    name = path.name
    try:
        if path.stat().st_size > LARGEST + 2 * LARGEST_TEXT:
            raise ScoreError(f"{name} is larger than a score with its reading can be: ask for it again")
        data = path.read_bytes()
        with zipfile.ZipFile(path) as archive:
            return _from_archive(archive, name, hashlib.sha256(data).hexdigest()[:12])
    except FileNotFoundError:
        raise ScoreError(f"there is no file {path}: check the name and the folder") from None
    except (
        zipfile.BadZipFile,
        zlib.error,
        NotImplementedError,
        RuntimeError,
        EOFError,
        ValueError,
        OSError,
    ) as problem:
        if isinstance(problem, ScoreError):
            raise
        raise ScoreError(f"{name} is damaged and cannot be opened ({problem}): ask for it again") from None


def write_package(
    path: Path, score: Path, reading: str, title: str, choice: dict[str, Any], plan: str = "", replace: bool = False
) -> Path:
    """Write the score at `score` with `reading` (the text of its decisions) to `path`, whole or not at all.

    `plan` is the JSON text of a plan to go with it.

    Raises ScoreError where there is something of that name already and it isn't to be replaced, or it can't be written.
    """
    if not is_package(path):
        raise ScoreError(f"{path.name} should end in {PACKAGE_ENDING}: then it is known for what it is")
    if path.exists() and not replace:
        raise ScoreError(f"{path} is there already: choose another name")
    inner = _inner_name(score)
    try:
        data = score.read_bytes()
        with whole_file(path) as new, zipfile.ZipFile(new, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(MANIFEST, _manifest(inner, data, title, choice, bool(plan)))
            archive.writestr(inner, data)
            archive.writestr(inner + ENDING, reading)
            if plan:
                archive.writestr(PLAN, plan)
    except OSError as problem:
        raise ScoreError(f"{path} can't be written ({problem.strerror or problem}): write elsewhere") from None
    return path


def free_package_name(folder: Path, score: Path) -> Path:
    """A name in the folder that is not taken: `two-rooks.earloop.zip`, `two-rooks.2.earloop.zip` …"""
    names = [f"{score.stem}{PACKAGE_ENDING}", *(f"{score.stem}.{k}{PACKAGE_ENDING}" for k in range(2, 1000))]
    return next((folder / name for name in names if not (folder / name).exists()), folder / names[0])


def _inner_name(score: Path) -> str:
    """The score's name, with what some system can't have in a name put right."""
    stem = re.sub(r"[\x00-\x1f/\\:*?\"<>|\ud800-\udfff]", "-", score.stem).lstrip(".")[:100]
    return f"{stem or 'score'}{score.suffix}"


def _manifest(name: str, data: bytes, title: str, choice: dict[str, Any], planned: bool) -> str:
    document = tomlkit.document()
    document.add(tomlkit.comment("A score with a reading of it, made by earloop. Open it with: earloop THIS-FILE"))
    document["package"] = SCHEMA
    document["title"] = title
    document["score"] = name
    document["reading"] = name + ENDING
    if planned:
        document["plan"] = PLAN
    document["score_sha256"] = hashlib.sha256(data).hexdigest()
    document["choice"] = {key: value for key, value in choice.items() if key in CHOICES and value not in (None, False)}
    return tomlkit.dumps(document)


def _from_archive(archive: zipfile.ZipFile, name: str, mark: str) -> Package:
    manifest = _checked(_member(archive, MANIFEST, 65536, name), name)
    score = _member(archive, manifest["score"], LARGEST, name)
    reading = _member(archive, manifest["reading"], LARGEST_TEXT, name)
    if hashlib.sha256(score).hexdigest() != manifest.get("score_sha256"):
        raise ScoreError(f"the score in {name} is not the one its reading was made for: ask for it again")
    choice = {key: manifest["choice"][key] for key in CHOICES if key in manifest["choice"]}
    title = str(manifest.get("title", ""))
    plan = _member(archive, PLAN, LARGEST_TEXT, name).decode("utf-8") if "plan" in manifest else ""
    return Package(name, manifest["score"], score, reading.decode("utf-8"), title, choice, mark, plan)


def _checked(data: bytes, name: str) -> dict[str, Any]:
    """The manifest with its names and choices checked."""
    try:
        manifest = tomllib.loads(data.decode("utf-8"))
    except ValueError as problem:
        raise ScoreError(f"{name}: its {MANIFEST} is not TOML ({problem}): ask for it again") from None
    if manifest.get("package") != SCHEMA:
        told = repr(manifest["package"]) if "package" in manifest else "none"
        raise ScoreError(f"{name} has the schema number {told}, this earloop reads {SCHEMA}: use a newer earloop")
    for key, endings in (("score", tuple(FORMATS)), ("reading", (ENDING,))):
        inner = manifest.get(key)
        if not isinstance(inner, str) or not _A_NAME.fullmatch(inner) or not inner.lower().endswith(endings):
            raise ScoreError(f"{name} names {inner!r} as its {key}, which can't be one: ask for it again")
    if manifest.get("plan", PLAN) != PLAN:
        raise ScoreError(f"{name} names {manifest['plan']!r} as its plan, which can't be one: ask for it again")
    choice = manifest.setdefault("choice", {})
    for key, kinds in CHOICES.items():
        if not isinstance(choice, dict) or (key in choice and type(choice[key]) not in kinds):
            raise ScoreError(f"{name}: the choice of {key} in its {MANIFEST} makes no sense: ask for it again")
    return manifest


def _member(archive: zipfile.ZipFile, inner: str, most: int, name: str) -> bytes:
    """One member by its whole name, never more than `most` bytes of it."""
    found = [info for info in archive.infolist() if info.filename == inner]
    if len(found) != 1:
        told = "no" if not found else "more than one"
        raise ScoreError(f"{name} holds {told} {inner}: it was not made by earloop, or is damaged; ask for it again")
    if found[0].flag_bits & 1:
        raise ScoreError(f"{name} is locked with a password: unlock it first, then open it")
    with archive.open(found[0]) as stream:
        # What the archive says of a size is not trusted: no more than this is ever unpacked.
        data = stream.read(most + 1)
    if len(data) > most:
        raise ScoreError(f"{inner} in {name} unpacks to more than {most // 1048576 or 1} MB: it can't be opened here")
    return data
