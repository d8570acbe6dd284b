"""From a path to its bytes and its format, with every refusal a file can earn."""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from earloop.scores.errors import ScoreError
from earloop.scores.formats import ENDINGS, FORMATS, LARGEST
from earloop.scores.package import is_package, read_package


@dataclass(frozen=True, slots=True)
class ScoreFile:
    """A score's bytes: `format` is `musicxml`, `abc`, `humdrum`, `midi` or `mei`; a .mxl is already unpacked.

    `choice` is what a package says is to be taken of its score, in the words of `load_line`.
    """

    path: Path
    format: str
    data: bytes
    choice: Mapping[str, Any] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def text(self) -> str:
        """The text, whatever its encoding. Raises ScoreError where it is no text."""
        return decoded(self.data, self.name)


def open_score(path: str | Path) -> ScoreFile:
    """Read the file at `path`; of a package, the score in it. Raises ScoreError for anything that cannot be a score."""
    path = Path(path)
    if is_package(path):
        package = read_package(path)
        return replace(_score(path.with_name(package.score_name), package.score), choice=package.choice)
    return _score(path, _bytes(path))


def _score(path: Path, data: bytes) -> ScoreFile:
    ending = path.suffix.lower()
    if ending not in FORMATS:
        raise ScoreError(f"{path.name} is not a score that can be read here: use a file ending in {ENDINGS}")
    kind = FORMATS[ending]
    if data[:2] == b"PK":
        data = _unpacked(data, path.name)
    elif ending == ".mxl":
        raise ScoreError(f"{path.name} ends in .mxl but is not a compressed MusicXML file: export it again")
    if kind == "midi":
        if data[:4] != b"MThd" and data[:4] != b"RIFF":
            raise ScoreError(f"{path.name} ends in {ending} but is not a MIDI file: export it again")
    elif data[:4] == b"MThd":
        kind = "midi"
    elif kind == "musicxml":
        kind = _xml_kind(data, path.name)
    return ScoreFile(path, kind, data)


def _bytes(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise ScoreError(f"{path} is a folder: name one score file in it")
        size = path.stat().st_size
        if size == 0:
            raise ScoreError(f"{path.name} is empty: export the score again")
        if size > LARGEST:
            raise ScoreError(
                f"{path.name} is {size / 1048576:.0f} MB and the limit is 50 MB: export one movement or one part alone"
            )
        if not path.is_file():
            raise ScoreError(f"{path} is not an ordinary file: name a score file")
        return path.read_bytes()
    except ScoreError:
        raise
    except FileNotFoundError:
        raise ScoreError(f"there is no file {path}: check the name and the folder") from None
    except PermissionError:
        raise ScoreError(f"{path} may not be read: change its permissions or copy it") from None
    except (OSError, ValueError) as problem:
        raise ScoreError(f"{path} cannot be read ({problem}): check the name and the disk") from None


def _unpacked(data: bytes, name: str) -> bytes:
    """The score inside a compressed MusicXML file (MusicXML 4.0: META-INF/container.xml names it)."""
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            if any(info.flag_bits & 1 for info in archive.infolist()):
                raise ScoreError(f"{name} is locked with a password: unlock it first, then open it")
            inner = _root_file(archive)
            if inner is None:
                raise ScoreError(f"{name} holds no score: export it again as MusicXML")
            if archive.getinfo(inner).file_size > LARGEST:
                raise ScoreError(f"{name} unpacks to more than 50 MB: export one movement or one part alone")
            return archive.read(inner)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, KeyError, OSError) as problem:
        raise ScoreError(f"{name} is damaged and cannot be unpacked ({problem}): export it again") from None


def _root_file(archive: zipfile.ZipFile) -> str | None:
    names = archive.namelist()
    if "META-INF/container.xml" in names and archive.getinfo("META-INF/container.xml").file_size < 65536:
        try:
            for element in ElementTree.fromstring(archive.read("META-INF/container.xml")).iter():
                if element.tag.rsplit("}", 1)[-1] == "rootfile" and element.get("full-path") in names:
                    return element.get("full-path")
        except ElementTree.ParseError:
            pass
    for inner in names:
        if not inner.startswith("META-INF") and inner.lower().endswith((".xml", ".musicxml")):
            return inner
    return None


def _xml_kind(data: bytes, name: str) -> str:
    """`musicxml` or `mei`, by the root element; a refusal for any other XML and for no XML."""
    head = decoded(data[:20000], name, cut=True)
    if "<score-partwise" in head or "<score-timewise" in head:
        return "musicxml"
    if "<mei" in head or ":mei" in head:
        return "mei"
    raise ScoreError(f"{name} is not MusicXML: no score was found in it; export it again as MusicXML")


def decoded(data: bytes, name: str, cut: bool = False) -> str:
    """Bytes → text: UTF-8, UTF-16 with its mark, else Latin-1. Raises ScoreError for binary data."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="ignore" if cut else "replace")
    if b"\x00" in data[:4096]:
        raise ScoreError(f"{name} is binary data, not a score: use a file ending in {ENDINGS}")
    try:
        return data.decode("utf-8-sig", errors="ignore" if cut else "strict")
    except UnicodeDecodeError:
        return data.decode("latin-1")
