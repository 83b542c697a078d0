"""Recipes: how each kind of equipment is connected.

A module here registers itself; adding one touches no other file.
"""

from __future__ import annotations

import importlib
import pkgutil

from galleyproof.design.recipes._registry import recipes

for _module in pkgutil.iter_modules(__path__):
    if not _module.name.startswith("_"):
        importlib.import_module(f"{__name__}.{_module.name}")

__all__ = ["recipes"]
