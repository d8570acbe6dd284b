"""The views as plots, drawn by plotext. Imported when the screen opens, not before."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from textual.color import Color
from textual.widget import Widget
from textual_plotext import PlotextPlot

from earloop.coaching.progress import degree_counts, layer_courses, link_counts, minutes_a_day
from earloop.screen.journal.views import Noted

COLOURS = ("upper", "lower", "lean", "middle", "skeleton", "quiet", "single")
"""Theme colours, one a layer; the legend names each, so that none rests on its colour alone."""
MOST_BARS = 16
MINUTES = 10
"""What the axis of minutes shows at the least, and steps by."""


def new_plot() -> PlotextPlot:
    """An empty plot."""
    return PlotextPlot(id="journal-plot")


def draw(plot: Widget, view: str, noted: Noted) -> bool:
    """Draw a view; whether there was anything to draw."""
    assert isinstance(plot, PlotextPlot)
    plt = plot.plt
    plt.clear_figure()
    drawn = DRAWN[view](plot, plt, noted)
    plot.refresh()
    return drawn


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def _colour(plot: Widget, name: str) -> tuple[int, int, int]:
    return Color.parse(plot.app.theme_variables[name]).rgb


def _days(plot: Widget, plt: Any, noted: Noted) -> bool:
    minutes = minutes_a_day(noted.happenings, noted.today)
    places = list(range(len(minutes)))
    plt.bar(places, [value for _, value in minutes], width=0.6, color=_colour(plot, "upper"))
    # Every other day has a name, the last one always: more would run into each other at 80 columns.
    plt.xticks(places[::-2], [_day(day) for day, _ in minutes[::-2]])
    most = max(MINUTES, *(value for _, value in minutes))
    plt.ylim(0, most)
    step = MINUTES * max(1, math.ceil(most / MINUTES / 6))
    plt.yticks(list(range(0, math.floor(most) + 1, step)))
    plt.ylabel("minutes")
    return any(value for _, value in minutes)


def _phrase(plot: Widget, plt: Any, noted: Noted) -> bool:
    courses = layer_courses(noted.of_phrase)
    days = sorted({day for course in courses.values() for day, _ in course})
    place = {day: number for number, day in enumerate(days)}
    for number, (name, course) in enumerate(courses.items()):
        x, y = [place[day] for day, _ in course], [100 * share for _, share in course]
        colour = _colour(plot, COLOURS[number % len(COLOURS)])
        plt.plot(x, y, label=f"{number + 1} {name}", color=colour, marker="braille")
        plt.scatter(x, y, color=colour, marker=str(number + 1))
    every = max(1, len(days) // 10)
    plt.xticks([place[day] for day in days[::every]], [_day(day) for day in days[::every]])
    plt.xlim(-0.5, max(0.5, len(days) - 0.5))
    return _percents(plt) and bool(courses)


def _degrees(plot: Widget, plt: Any, noted: Noted) -> bool:
    counts = degree_counts(noted.chosen)[:MOST_BARS]
    if counts:
        names = [noted.signs.accidentals(count.degree) for count in counts]
        plt.bar(names, [100 * count.share for count in counts], width=0.6, color=_colour(plot, "middle"))
    return _percents(plt) and bool(counts)


def _links(plot: Widget, plt: Any, noted: Noted) -> bool:
    counts = link_counts(noted.chosen)[:MOST_BARS]
    if counts:
        names = [f"{link.first + 1}-{link.second + 1}" for link in counts]
        plt.bar(names, [100 * link.lately for link in counts], width=0.6, color=_colour(plot, "lower"))
    return _percents(plt) and bool(counts)


def _percents(plt: Any) -> bool:
    plt.ylim(0, 100)
    plt.yticks([0, 25, 50, 75, 100])
    plt.ylabel("% right")
    return True


DRAWN = {"days": _days, "phrase": _phrase, "degrees": _degrees, "links": _links}
