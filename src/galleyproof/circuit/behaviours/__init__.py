"""Named behaviours of device types.

A behaviour is a function ``(made, roles) -> rules``, registered by its name. ``made`` is the device with its ratings;
``roles`` are the other keys of the type file's ``behaviours`` entry.

Slots of the outside world, written only by situations:

=====================  ==========================================
``supply CIRCUIT``     ``present`` / ``lost``
``fire ZONE``          ``armed`` / ``released``
``release SWITCH``     ``at rest`` / ``pulled`` (one of several switches of a zone)
``heat HOOD``          ``off`` / ``on``
``switch TAG``         ``off`` / ``on`` / ``hand`` / ``auto``
``sensor TAG``         ``ok`` / ``open`` / ``short``
``master TAG``         ``rests`` / ``calls`` (something else that commands a unit)
``reset``              False / True (a hand presses every reset)
=====================  ==========================================
"""

from __future__ import annotations

from galleyproof.circuit.behaviours import (  # noqa: F401 - importing registers them
    building,
    controller,
    drives,
    fans,
    fire,
    relays,
    sensing,
)
from galleyproof.circuit.behaviours._registry import BEHAVIOURS, Made, rules_of

__all__ = ["BEHAVIOURS", "Made", "rules_of"]
