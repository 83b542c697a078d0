"""Two registries: recipes of the job's sections, and recipes of the ways a fan is driven."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from galleyproof.design.builder import Builder
from galleyproof.job.model import Damper, Drive, Proving

Recipe = Callable[[Builder], None]
_RECIPES: dict[str, Recipe] = {}


def recipe(name: str) -> Callable[[Recipe], Recipe]:
    """Register the recipe of one kind of equipment."""

    def register(function: Recipe) -> Recipe:
        if name in _RECIPES:
            raise ValueError(f"recipe {name} is registered twice")
        _RECIPES[name] = function
        return function

    return register


def recipes() -> tuple[tuple[str, Recipe], ...]:
    """All recipes; the panel first, the rest by name. The result does not depend on the order."""
    return tuple(sorted(_RECIPES.items(), key=lambda r: (r[0] != "panel", r[0])))


@dataclass(frozen=True, slots=True)
class FanView:
    """What a drive recipe needs to know of a fan, exhaust or make-up."""

    tag: str
    title: str
    place: str
    circuit: str
    drive: Drive
    min_speed: float
    disconnect: bool
    proving: Proving | None = None
    damper: Damper | None = None
    forced_by: str | None = None
    standby: bool = False
    """It runs at full speed when the panel is dead, as the job asks."""


@dataclass(frozen=True, slots=True)
class FanPoints:
    """Points a drive recipe asked for, by use; empty where it has none."""

    run: str = ""
    speed: str = ""
    proof: str = ""
    around: str = ""
    """Key of the conductor a current switch is put around."""


DriveRecipe = Callable[[Builder, FanView], FanPoints]
DRIVES: dict[str, DriveRecipe] = {}


def drive_recipe(kind: str) -> Callable[[DriveRecipe], DriveRecipe]:
    """Register the recipe of one kind of drive."""

    def register(function: DriveRecipe) -> DriveRecipe:
        if kind in DRIVES:
            raise ValueError(f"drive recipe {kind} is registered twice")
        DRIVES[kind] = function
        return function

    return register
