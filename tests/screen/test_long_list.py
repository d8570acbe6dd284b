"""The long list: only rows in sight are made, and one gets about in it by keys and mouse as in any list."""

from __future__ import annotations

from textual.app import App, ComposeResult

from earloop.screen.long_list import LongList


class Listed(App[None]):
    """A list of `count` numbered rows, and what it told."""

    def __init__(self, count: int, chosen: int = 0) -> None:
        super().__init__()
        self.count, self.at_first = count, chosen
        self.made: list[int] = []
        self.told: list[tuple[str, int]] = []

    def compose(self) -> ComposeResult:
        yield LongList(self.row, self.count, self.at_first)

    def row(self, place: int) -> str:
        self.made.append(place)
        return f"row {place}"

    def on_long_list_chosen(self, event: LongList.Chosen) -> None:
        self.told.append(("chosen", event.place))

    def on_long_list_taken(self, event: LongList.Taken) -> None:
        self.told.append(("taken", event.place))


def rows(app: App[None]) -> list[str]:
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).split("  ")[0].strip() for strip in strips]


async def test_only_the_rows_in_sight_are_made() -> None:
    """Of 10,000, and it opens with the chosen one in sight."""
    app = Listed(10_000, 7_000)
    async with app.run_test(size=(40, 12)) as pilot:
        await pilot.pause()
        assert "row 7000" in rows(app)
        assert len(set(app.made)) <= 2 * 12
        assert not app.told


async def test_keys_go_about_and_stop_at_the_ends() -> None:
    app = Listed(100)
    async with app.run_test(size=(40, 12)) as pilot:
        listed = app.query_one(LongList)
        listed.focus()
        for key, place in (
            ("up", 0), ("down", 1), ("pagedown", 12), ("end", 99), ("down", 99), ("pageup", 88), ("home", 0),
        ):  # fmt: skip
            await pilot.press(key)
            await pilot.pause()
            assert listed.chosen == place, key
            assert f"row {place}" in rows(app)
        await pilot.press("enter")
        await pilot.pause()
        assert app.told[-1] == ("taken", 0)
        assert ("chosen", 99) in app.told


async def test_a_click_takes_the_row_below_the_mouse_and_none_below_the_last() -> None:
    app = Listed(3)
    async with app.run_test(size=(40, 12)) as pilot:
        await pilot.click(LongList, offset=(2, 8))
        await pilot.pause()
        assert not app.told
        await pilot.click(LongList, offset=(2, 2))
        await pilot.pause()
        assert app.told == [("chosen", 2), ("taken", 2)]


async def test_filled_anew_it_is_silent_and_may_be_empty() -> None:
    app = Listed(50, 40)
    async with app.run_test(size=(40, 12)) as pilot:
        listed = app.query_one(LongList)
        listed.focus()
        listed.fill(20, 30)
        await pilot.pause()
        assert (listed.chosen, app.told) == (19, [])
        assert "row 19" in rows(app)
        listed.fill(0)
        await pilot.press("down", "enter", "end")
        await pilot.pause()
        assert (listed.chosen, app.told) == (None, [])
        assert not any(rows(app))
