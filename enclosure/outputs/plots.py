"""Which pictures show heat, winter, cost and sun?

Four plots for the report: where the heat goes, the temperatures of a winter,
the cost over the years, the sun month by month. Every line and bar can be told
apart in black and white by dash, marker, hatch or word. Bytes are the same for
the same input. Heavy imports inside the functions: matplotlib (extra `plots`),
numpy.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from enclosure.brief.model import Brief
from enclosure.checks.climate import Climate, coldest_day, day_month, month_name
from enclosure.checks.heat_network import Network, shares
from enclosure.checks.live import plant_limit
from enclosure.checks.live_inputs import Living, living
from enclosure.checks.live_power_rows import supply_of
from enclosure.checks.live_season_rows import hourly_season
from enclosure.checks.live_sun_rows import TOO_HOT_DEGC, clear_days
from enclosure.checks.season_calendar import cold_months, months_standing, season_days
from enclosure.checks.sun import ClearDay
from enclosure.choose.compare import Comparison, Outcome
from enclosure.errors import OutputError
from enclosure.language import decimal, tr
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock
from enclosure.units import UnitSystem

if TYPE_CHECKING:
    from enclosure.checks.season import Season
    from enclosure.checks.weather import Weather

WIDTH_IN, HEIGHT_IN, TITLE_IN = 6.7, 3.9, 0.36
DARK, BLUE, ORANGE, GREEN, SKY, GREY = "#222222", "#0072B2", "#D55E00", "#009E73", "#56B4E9", "#777777"
FORMATS = ("png", "pdf", "svg")
MOST_LINES = 6


def can_plot() -> bool:
    """Return whether the plotting library is installed, without loading it."""
    from importlib.util import find_spec

    return find_spec("matplotlib") is not None


def _figure(height_in: float = HEIGHT_IN, left_in: float = 0.62, bottom_in: float = 0.42) -> tuple[Any, Any]:
    """Return an empty figure and its axes, with margins as given.

    The library can find the margins itself, but draws everything twice for it, half of the whole time.
    """
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError:
        raise OutputError(
            "plots need the matplotlib library",
            "install it: pip install matplotlib; all else works without",
        ) from None
    figure = Figure(figsize=(WIDTH_IN, height_in), dpi=200)
    FigureCanvasAgg(figure)
    axes = figure.add_axes(
        (
            left_in / WIDTH_IN,
            bottom_in / height_in,
            1.0 - (left_in + 0.12) / WIDTH_IN,
            1.0 - (bottom_in + TITLE_IN) / height_in,
        )
    )
    axes.tick_params(labelsize=8, color=GREY)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(GREY)
    return figure, axes


def _bytes(figure: Any, kind: str) -> bytes:
    """Return a figure as bytes of a format, without a date."""
    if kind not in FORMATS:
        raise OutputError(f"a plot cannot be written as {kind}", f"use one of {', '.join(FORMATS)}")
    import matplotlib

    metadata: dict[str, Any] = {
        "png": {"Software": None},
        "pdf": {"CreationDate": None, "Producer": None, "Creator": None},
        "svg": {"Date": None, "Creator": None},
    }[kind]
    stream = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "enclosure", "pdf.fonttype": 42}):
        more: dict[str, Any] = {"pil_kwargs": {"compress_level": 3}} if kind == "png" else {}
        figure.savefig(stream, format=kind, metadata=metadata, **more)
    return stream.getvalue()


def _figures_on(axis: Any) -> None:
    """Write the figures of an axis with the decimal mark of the language spoken here."""
    axis.set_major_formatter(lambda value, place: decimal(f"{value:g}").replace("-", "\u2212"))


def _title(axes: Any, text: str) -> None:
    high = axes.figure.get_size_inches()[1]
    axes.figure.text(0.012, 1.0 - 0.06 / high, text, fontsize=9, va="top", color=DARK)


def _thermometer(units: UnitSystem) -> tuple[Callable[[Any], Any], str]:
    """Return what turns °C (a number or an array) into the scale of the papers, and that scale's sign."""
    if units == "inch":
        return lambda degc: degc * 9 / 5 + 32, "°F"
    return lambda degc: degc, "°C"


def grouped_losses(network: Network) -> tuple[tuple[str, float], ...]:
    """Return the conductance of each face (skin, frame, track), of air and ground, greatest first [W/K]."""
    sums: dict[str, float] = {}
    for loss, _ in shares(network):
        name = loss.side or loss.name
        sums[name] = sums.get(name, 0.0) + loss.conductance_w_k
    return tuple(sorted(sums.items(), key=lambda item: (-round(item[1], 9), item[0])))


def losses_plot(here: Living, kind: str = "png", units: UnitSystem = "metric") -> bytes:
    """Return the bar picture of where the heat goes on the design night."""
    said, sign = _thermometer(units)
    groups = grouped_losses(here.network)
    whole = sum(value for _, value in groups)
    lift = here.heat.setpoint_degc - here.design_min_degc
    longest = max(len(name) for name, _ in groups)
    figure, axes = _figure(max(2.4, 0.9 + 0.27 * len(groups)), left_in=0.25 + 0.072 * longest, bottom_in=0.5)
    names = [name for name, _ in groups][::-1]
    values = [value for _, value in groups][::-1]
    sides = {loss.side for loss, _ in shares(here.network)}
    hatches = ["" if name in sides else "////" for name in names]
    bars = axes.barh(names, values, color=SKY, edgecolor=DARK, linewidth=0.8)
    for bar, hatch, value in zip(bars, hatches, values, strict=True):
        bar.set_hatch(hatch)
        words = f" {100 * value / whole:.0f} %   {value * lift:.0f} W"
        axes.text(value, bar.get_y() + bar.get_height() / 2, words, va="center", fontsize=8, color=DARK)
    axes.set_xlim(0, max(values) * 1.28)
    axes.set_xlabel("W/K", fontsize=8)
    words = tr(
        "Where the heat goes: {whole:.1f} W/K in all, "
        "{watts:.0f} W to hold {held:.0f} {sign} at {night:.0f} {sign} outside"
    ).format(
        whole=whole,
        watts=whole * lift,
        held=said(here.heat.setpoint_degc),
        sign=sign,
        night=said(here.design_min_degc),
    )
    if here.network.tent_w_k is not None:
        tent = tr("in the whole shelter; {watts:.0f} W hold it inside the tent")
        words += "\n" + tent.format(watts=here.network.plant_w_k * lift)
    _figures_on(axes.xaxis)
    _title(axes, words)
    return _bytes(figure, kind)


def _day_ticks(axes: Any, days: Any) -> None:
    """Put the names of the months under a row of days of the year."""
    starts = [(i, day_month(int(day))) for i, day in enumerate(days)]
    ticks = [(i, month) for i, (month, of_month) in starts if of_month == 1]
    axes.set_xticks([i for i, _ in ticks], [month_name(month - 1)[:3] for _, month in ticks], fontsize=8)


def winter_plot(
    season: Season,
    weather: Weather,
    setpoint_degc: float,
    limit_degc: float,
    kind: str = "png",
    units: UnitSystem = "metric",
) -> bytes:
    """Return the temperatures of a winter: coldest hour of each day outside, in the shelter, at the plant.

    Args:
        season: The hourly walk.
        weather: The hours it walked, as many.
        setpoint_degc: Thermostat's setpoint.
        limit_degc: Plant's limit.
        kind: png, pdf or svg.
        units: inch for temperatures in °F.
    """
    import numpy as np

    count = len(season.plant_degc) // 24
    rows = slice(0, count * 24)
    said, sign = _thermometer(units)
    setpoint, limit = said(setpoint_degc), said(limit_degc)

    def least(values: Any) -> Any:
        return said(np.asarray(values)[rows].reshape(count, 24).min(axis=1))

    figure, axes = _figure()
    days = weather.day[rows][::24]
    x = np.arange(count)
    outside, shelter, plant = map(least, (weather.outside_degc, season.shelter_degc, season.plant_degc))
    axes.plot(x, outside, color=GREY, linewidth=0.9, linestyle=":", label=tr("outside"))
    if not np.allclose(shelter, plant):
        axes.plot(x, shelter, color=SKY, linewidth=1.0, linestyle="--", label=tr("in the shelter"))
    axes.plot(x, plant, color=BLUE, linewidth=1.5, label=tr("round the plant"))
    axes.fill_between(x, plant, limit, where=plant < limit, color=ORANGE, alpha=0.6, hatch="xxx")
    _held_lines(axes, count, setpoint, limit)
    _day_ticks(axes, days)
    axes.set_xlim(0, count * 1.09)
    low, top = axes.get_ylim()
    axes.set_ylim(low - 0.1 * (top - low), top)  # a free strip for the words below
    _figures_on(axes.yaxis)
    axes.set_ylabel(tr("coldest hour of the day [{sign}]").format(sign=sign), fontsize=8)
    axes.legend(fontsize=7, frameon=False, loc="lower left", ncols=3)
    _title(
        axes,
        tr(
            "A winter: {heat:.0f} kWh of heat, coldest {coldest:.1f} {sign} round the plant, {hours} h under its limit"
        ).format(
            heat=season.heat_kwh,
            coldest=said(season.coldest_degc),
            sign=sign,
            hours=season.hours_below(limit_degc),
        ),
    )
    return _bytes(figure, kind)


def _held_lines(axes: Any, count: int, setpoint: float, limit: float) -> None:
    """Draw setpoint and limit across a winter of so many days, their words beside them and apart."""
    axes.hlines(setpoint, 0, count, color=GREEN, linewidth=0.9, linestyle=(0, (6, 2)))
    axes.hlines(limit, 0, count, color=ORANGE, linewidth=1.1, linestyle="-.")
    low, top = axes.get_ylim()
    names = (tr("setpoint {setpoint:.0f}").format(setpoint=setpoint), tr("limit {limit:.0f}").format(limit=limit))
    for height, which in spread_labels([(setpoint, 0), (limit, 1)], 0.04 * (top - low)):
        axes.text(count * 1.005, height, names[which], fontsize=7, va="center", color=DARK)


def yearly_totals(one: Outcome, winters: int) -> tuple[float, ...]:
    """Return what has been paid by the end of each winter, 0 to `winters`; replacements spread evenly."""
    yearly = (one.replacement + one.energy_cost) / winters
    return tuple(one.purchase + yearly * year for year in range(winters + 1))


def spread_labels(ends: list[tuple[float, int]], gap: float) -> list[tuple[float, int]]:
    """Return labels moved apart until each stands at least a gap above the one below it, none further than needed.

    Least squares: labels that would touch become one block round the mean of their places.
    """
    blocks: list[tuple[float, list[int]]] = []  # bottom of the block, its labels from below
    for height, number in sorted(ends):
        low, numbers = height, [number]
        while blocks and blocks[-1][0] + gap * len(blocks[-1][1]) > low:
            below, others = blocks.pop()
            total = below * len(others) + (low - gap * len(others)) * len(numbers)
            numbers = [*others, *numbers]
            low = total / len(numbers)
        blocks.append((low, numbers))
    return [(low + gap * place, number) for low, numbers in blocks for place, number in enumerate(numbers)]


def cost_plot(comparison: Comparison, kind: str = "png") -> bytes:
    """Return the cost over the years: the cheapest options that keep the plant alive, and the brief's own."""
    made = [one for one in comparison.outcomes if not one.problem]
    alive = [one for one in made if one.lives] or made
    shown = alive[:MOST_LINES]
    shown += [one for one in made if one.option.asked and one not in shown][:1]
    figure, axes = _figure(left_in=0.7, bottom_in=0.55 + 0.142 * len(shown))
    styles = ["-", "--", "-.", ":", (0, (8, 2)), (0, (4, 1, 1, 1, 1, 1)), (0, (1, 3))]
    colours = [BLUE, ORANGE, GREEN, DARK, "#CC79A7", "#E69F00", GREY]
    years = range(comparison.winters + 1)
    ends: list[tuple[float, int]] = []
    for i, one in enumerate(shown):
        totals = yearly_totals(one, comparison.winters)
        mark = " *" if comparison.cheapest is not None and one is comparison.cheapest else ""
        life = "" if one.lives else tr(" (too cold for the plant)")
        label = f"{i + 1}  {one.option.name}{life}{mark}"
        axes.plot(years, totals, color=colours[i], linestyle=styles[i], linewidth=1.6, label=label)
        ends.append((totals[-1], i + 1))
    lowest = min(one.purchase for one in shown)
    most = max(height for height, _ in ends)
    bottom = 0.0 if lowest < most / 2 else 0.9 * lowest  # lines that all lie high are shown without nought
    labels = spread_labels(ends, (most - bottom) / 15.0)
    for (total, _), (height, number) in zip(sorted(ends), labels, strict=True):
        last, beside = comparison.winters, comparison.winters * 1.025
        axes.plot([last, beside], [total, height], color=GREY, linewidth=0.6)
        axes.text(beside, height, f" {number}", fontsize=8, va="center", color=DARK)
    axes.set_xlim(0, comparison.winters * 1.06)
    axes.set_xticks(list(years))
    axes.set_ylim(bottom, labels[-1][0] + 0.04 * (most - bottom))
    _figures_on(axes.yaxis)
    axes.set_xlabel(tr("winters"), fontsize=8)
    axes.set_ylabel(tr("paid so far [{currency}]").format(currency=comparison.currency), fontsize=8)
    axes.legend(
        fontsize=6.5,
        frameon=False,
        loc="lower left",
        bbox_to_anchor=(0.09, 0.0),
        bbox_transform=figure.transFigure,
        handlelength=4.5,
        alignment="left",
    )
    end = tr(", discounted at {share:.1f} %").format(share=100 * comparison.discount) if comparison.discount else ""
    _title(
        axes,
        tr("Cost over the years at {price:g} {currency}/kWh{end}  (* cheapest)").format(
            price=comparison.price_kwh, currency=comparison.currency, end=end
        ),
    )
    return _bytes(figure, kind)


def sun_plot(
    days: tuple[ClearDay, ...],
    climate: Climate,
    months: tuple[int, ...],
    kind: str = "png",
    units: UnitSystem = "metric",
) -> bytes:
    """Return the sun by month: range of the clear-day temperature with everything closed.

    Args:
        days: The twelve clear days.
        climate: The place, for the order of the months.
        months: Months in which the shelter stands.
        kind: png, pdf or svg.
        units: inch for temperatures in °F.
    """
    said, sign = _thermometer(units)
    middle = day_month(coldest_day(climate))[0] - 1
    order = [(middle + k) % 12 for k in range(-5, 7)]
    figure, axes = _figure(bottom_in=0.55)
    _sun_bars(axes, [(days[month], month in months) for month in order], said)
    axes.plot(
        range(12),
        [said(days[m].outside_degc) for m in order],
        color=BLUE,
        marker="o",
        markersize=4,
        linewidth=1.2,
        label=tr("outside at that hour"),
    )
    too_hot = said(TOO_HOT_DEGC)
    axes.axhline(
        too_hot,
        color=DARK,
        linewidth=0.9,
        linestyle="--",
        label=tr("{limit:.0f} {sign}: open by now").format(limit=too_hot, sign=sign),
    )
    axes.set_xticks(range(12), [month_name(m)[:3] for m in order], fontsize=8)
    _figures_on(axes.yaxis)
    axes.set_ylabel(tr("hottest hour of a clear day, closed [{sign}]").format(sign=sign), fontsize=8)
    axes.legend(fontsize=7, frameon=False, loc="upper center", bbox_to_anchor=(0.5, -0.08), ncols=2)
    _title(axes, tr("Sun by month: low, likely (thick line) and high; hatched while the shelter stands"))
    return _bytes(figure, kind)


def _sun_bars(axes: Any, days: list[tuple[ClearDay, bool]], said: Callable[[Any], Any]) -> None:
    """Draw the range of each month, hatched where the shelter stands, a thick line at what is likely."""
    for place, (day, stands) in enumerate(days):
        low, likely, high = map(said, day.inside_degc)
        axes.bar(
            place,
            high - low,
            bottom=low,
            width=0.62,
            color=ORANGE if stands else "#f2f2f2",
            alpha=0.75 if stands else 1.0,
            edgecolor=DARK if stands else GREY,
            linewidth=0.9,
            hatch="////" if stands else "",
        )
        axes.plot([place - 0.31, place + 0.31], [likely, likely], color=DARK, linewidth=2.2)
        axes.annotate(
            f"{likely:.0f}",
            (place, likely),
            xytext=(0, 2.6),
            textcoords="offset points",
            fontsize=7.5,
            ha="center",
            color=DARK,
            bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
        )


def living_plots(
    design: Design,
    brief: Brief,
    site: Site,
    stock: Stock,
    comparison: Comparison | None = None,
    kind: str = "png",
    weather: Weather | None = None,
) -> dict[str, bytes]:
    """Return the plots of a design by name: losses, winter, sun, and cost when a comparison is given.

    Winter and sun are left out where the site gives no monthly means. Hours of a file take the place of
    the made-up winter.

    Raises:
        OutputError: matplotlib is not installed.
    """
    here = living(design, brief, site, stock)
    papers = brief.papers.units
    pictures = {"losses": losses_plot(here, kind, papers)}
    if here.climate is not None:
        import numpy as np

        from enclosure.checks.weather import made_year

        limit = plant_limit(here, brief)
        days = season_days(here.climate, limit, site.design_min_degc)
        year = made_year(here.climate) if weather is None else weather
        season = hourly_season(here, supply_of(brief, here.source), days, year)
        hours = year.only(np.isin(year.day, np.array(days))) if days else year
        pictures["winter"] = winter_plot(season, hours, here.heat.setpoint_degc, limit, kind, papers)
        months = months_standing(here.climate, limit, site.design_min_degc) or cold_months(here.climate)
        clear = clear_days(here.faces, here.climate, here.network.shelter_w_k)
        pictures["sun"] = sun_plot(clear, here.climate, months, kind, papers)
    if comparison is not None:
        pictures["cost"] = cost_plot(comparison, kind)
    return pictures
