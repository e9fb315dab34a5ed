"""In what order is the shelter built, raised, taken down and stowed?

The steps are the nodes of a directed graph: each names what must stand before
it. The printed order is a topological sort in which ties keep the order of
writing. The take-down is the raising reversed, edge by edge.
"""

from __future__ import annotations

import heapq
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter

from enclosure.errors import DesignError
from enclosure.language import tr
from enclosure.shape.context import Context
from enclosure.shape.first_build import FirstBuild
from enclosure.shape.lifting import Method
from enclosure.shape.model import Anchor, Part, Step
from enclosure.shape.raising import Raising


def order_of_work(ctx: Context, parts: tuple[Part, ...], posts: tuple[Anchor, ...], method: Method) -> tuple[Step, ...]:
    """Return every step: first build, raising, take-down, each sorted."""
    build = FirstBuild(ctx, parts, posts)
    build.slides = method.name == "slide"
    raising = Raising(ctx, parts, posts)
    up = raising.steps(method)
    down = _take_down(up, raising.down)
    return (*in_order(build.steps()), *in_order(up), *in_order(down))


def in_order(steps: list[Step]) -> tuple[Step, ...]:
    """Return the steps in topological order; ties keep the order of the list.

    Raises:
        DesignError: The steps wait for each other in a circle.
    """
    index = {step.key: i for i, step in enumerate(steps)}
    sorter: TopologicalSorter[str] = TopologicalSorter(
        {step.key: [key for key in step.after if key in index] for step in steps}
    )
    try:
        sorter.prepare()
    except CycleError as error:
        raise DesignError(f"the order of work goes in a circle: {' - '.join(error.args[1])}") from error
    ready: list[int] = []
    result: list[Step] = []
    while sorter.is_active():
        for key in sorter.get_ready():
            heapq.heappush(ready, index[key])
        step = steps[heapq.heappop(ready)]
        result.append(step)
        sorter.done(step.key)
    return tuple(result)


def _take_down(raising: list[Step], words: dict[str, tuple[str, str]]) -> list[Step]:
    """Reverse the raising: what stood before now waits for what stood on it."""
    waits: dict[str, list[str]] = {step.key: [] for step in raising}
    for step in raising:
        for key in step.after:
            if key in waits:
                waits[key].append(f"down-{step.key}")
    steps = []
    for step in reversed(raising):
        title, text = words[step.key]
        steps.append(
            replace(
                step,
                key=f"down-{step.key}",
                phase="take-down",
                title=title,
                text=text,
                after=tuple(waits[step.key]),
                minutes=max(2, round(step.minutes * 0.6)),
            )
        )
    last = tuple(step.key for step in steps)
    steps.append(
        Step(
            "clean",
            "take-down",
            tr("Clean and check"),
            tr("Wash panels with lukewarm water and a drop of neutral soap, let the flutes dry, replace damaged tape, "
               "retighten or replace worn hardware."),
            (),
            last,
            (tr("sponge"), tr("bucket"), tr("tape")),
            1,
            0.0,
            40,
        )
    )
    steps.append(
        Step(
            "stow",
            "take-down",
            tr("Stow by number"),
            tr("Stack panels flat, dry and shaded, the heaviest at the bottom, battens under them, paper between, "
               "nothing resting on an edge of the flutes; bundle frames and track by wall, labels outward."),
            (),
            ("clean",),
            (tr("straps"), tr("battens")),
            1,
            0.0,
            20,
        )
    )
    return steps
