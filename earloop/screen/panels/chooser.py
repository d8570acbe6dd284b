"""The chooser: the phrase library, and the scores of any folder, with what each phrase's card says of it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from earloop.screen.library import MOST_LISTED, phrases_folder, scores_in
from earloop.screen.long_list import LongList
from earloop.screen.opening import Card, card_of
from earloop.screen.panels.ask import Ask
from earloop.screen.panels.panel import Panel


class Chooser(Panel[Path]):
    """Dismissed with the score's path. `problem` says why the last one could not be opened; `kept_too` lists
    files of kept decisions besides scores."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,backspace", "folder_above", "folder above", show=False),
        Binding("l", "library", "phrase library", show=False),
        Binding("g", "go_to", "go to", show=False),
    ]
    keys_line = "enter open  backspace folder above  l library  g go to  q back"

    def __init__(
        self,
        folder: Path,
        here: Path | None = None,
        problem: str = "",
        title: str = "Open a phrase or a score",
        kept_too: bool = False,
    ) -> None:
        super().__init__(title)
        self.kept_too = kept_too
        self.folder, self.here, self.problem = folder, here, problem
        self.entries: list[Path] = []
        self.lines: list[str] = []
        self.cards: dict[Path, Card] = {}

    def body(self) -> Iterable[Widget]:
        yield Static(id="chooser-folder", markup=False)
        yield Static(id="chooser-problem", classes="panel-problem", markup=False)
        yield LongList(lambda place: self.lines[place])
        yield Static(id="chooser-card", markup=False)

    def on_mount(self) -> None:
        self.query_one(LongList).focus()
        self._list(self.folder)

    def _list(self, folder: Path) -> None:
        try:
            folders, scores, more = scores_in(folder, self.kept_too)
        except OSError as error:
            self.say(f"{folder} can't be looked into ({error.strerror or error}): choose another folder.")
            return
        self.folder, self.entries = folder, [*folders, *scores]
        self.cards = {path: card_of(path) for path in scores}
        self.lines = [f"{path.name}/" for path in folders] + [self._line(path) for path in scores]
        here = self.entries.index(self.here) if self.here in self.entries else 0
        self.query_one(LongList).fill(len(self.entries), here)
        self._show_card(self.entries[here] if self.entries else None)
        if more:
            self.problem = self.problem or f"Only the first {MOST_LISTED} are listed: g goes to any file by its name."
        elif not self.entries:
            self.problem = (
                self.problem or "No scores here: backspace goes to the folder above, l to the phrase library."
            )
        self.query_one("#chooser-folder", Static).update(str(folder))
        self.say(self.problem)
        self.problem = ""

    def _line(self, path: Path) -> str:
        card = self.cards[path]
        if not card.title:
            return path.name
        return f"{card.title}  ({', '.join(filter(None, (f'grade {card.grade}', card.instrument)))})"

    def _show_card(self, path: Path | None) -> None:
        card = self.cards.get(path) if path is not None else None
        self.query_one("#chooser-card", Static).update(card.hear if card is not None else "")

    def on_long_list_chosen(self, event: LongList.Chosen) -> None:
        self._show_card(self.entries[event.place])

    def on_long_list_taken(self, event: LongList.Taken) -> None:
        path = self.entries[event.place]
        if path.is_dir():
            self._list(path)
        else:
            self.dismiss(path)

    def action_folder_above(self) -> None:
        self.here = self.folder
        self._list(self.folder.resolve().parent)

    def action_library(self) -> None:
        folder = phrases_folder()
        if folder is None:
            self.say("The phrase library was not installed: reinstall earloop, or open a score of your own.")
        else:
            self._list(folder)

    def action_go_to(self) -> None:
        self.app.push_screen(Ask("Folder or file", str(self.folder)), self._go)

    def _go(self, answer: str | None) -> None:
        if not answer:
            return
        path = Path(answer.strip()).expanduser()
        if path.is_dir():
            self._list(path)
        else:
            self.dismiss(path)
