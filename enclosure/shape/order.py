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
from enclosure.shape.context import Context
from enclosure.shape.first_build import FirstBuild
from enclosure.shape.lifting import Method
from enclosure.shape.model import Anchor, Part, Step
from enclosure.shape.raising import Raising


def order_of_work(ctx: Context, parts: tuple[Part, ...], posts: tuple[Anchor, ...], method: Method) -> tuple[Step, ...]:
    """Return every step: first build, raising, take-down, each sorted."""
    build = FirstBuild(ctx, parts, posts).steps()
    raising = Raising(ctx, parts, posts).steps(method)
    down = _take_down(raising)
    return (*in_order(build), *in_order(raising), *in_order(down))


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


def _take_down(raising: list[Step]) -> list[Step]:
    """Reverse the raising: what stood before now waits for what stood on it."""
    waits: dict[str, list[str]] = {step.key: [] for step in raising}
    for step in raising:
        for key in step.after:
            if key in waits:
                waits[key].append(f"down-{step.key}")
    steps = []
    for step in reversed(raising):
        title, text = _down_words(step)
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
            "Clean and check",
            "Wash panels with lukewarm water and a drop of neutral soap, "
            "let the flutes dry, replace damaged tape, retighten or replace worn hardware.",
            (),
            last,
            ("sponge", "bucket", "tape"),
            1,
            0.0,
            40,
        )
    )
    steps.append(
        Step(
            "stow",
            "take-down",
            "Stow by number",
            "Stack panels flat, dry and shaded, last off on top, the heaviest "
            "at the bottom, battens between, nothing resting on the flutes; bundle frames and track by wall, "
            "labels outward.",
            (),
            ("clean",),
            ("straps", "battens"),
            1,
            0.0,
            20,
        )
    )
    return steps


def _down_words(step: Step) -> tuple[str, str]:
    words = {
        "wrap": ("Unwrap the plant", "Take off the cloth on an overcast day and untie the leaves little by little."),
        "heat": (
            "Take out the heat",
            "Switch off, unplug, then take out lights, thermostat and cord; dry and coil them.",
        ),
        "test": ("Switch off the power", "Unplug the supply before anything is touched."),
        "anchor": (
            "Undo ties and wires",
            "Hold the frame while the last tie or wire is undone; leave posts and stakes or pull them.",
        ),
        "body": (
            "Slide the body away",
            "With the front open, slide the three-sided body off the plant and lay the frames apart.",
        ),
        "front-sill": ("Open the front", "Undo the bolts and lift out the front sill and what stands on it."),
    }
    if step.key in words:
        return words[step.key]
    return (f"Undo: {step.title[0].lower()}{step.title[1:]}", f"In reverse: {step.text[0].lower()}{step.text[1:]}")
