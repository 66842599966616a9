"""The cautions where a treatment is logged. They defer to local rules and licensed practice (docs/safety.md)."""

from __future__ import annotations

SOLVENT = (
    "Solvent: unplug the unit, power cell disconnected first where that is your licensed practice. "
    "Air the bench, keep flames and sparks away, let it dry fully. Follow the product's label and local rules."
)
HEAT = (
    "Iron or hot air: burns and fume, and plastic parts near the joint soften. "
    "Extract the fume, protect the sensor's plastic, work unplugged. Follow local rules."
)
HOUSING = (
    "Housing open: static and sharp tools. A lithium cell that is swollen, pierced or hot is not touched further: "
    "set it aside as your local rules say. Never open a cell or a mains adapter."
)
TOOLS = "Unplug the unit first. Mind sharp tools and static."

_CAUTIONS = {
    "clean from outside": SOLVENT,
    "open and clean": f"{HOUSING}\n{SOLVENT}",
    "clean the sensor": f"{HOUSING}\n{SOLVENT}",
    "replace sensor": f"{HOUSING}\n{HEAT}",
    "replace module": f"{HOUSING}\n{HEAT}",
    "replace board": HOUSING,
    "replace cap or paddle": HOUSING,
    "swap with donor part": HOUSING,
    "adjust": TOOLS,
    "other": TOOLS,
}


def caution_for(kind: str) -> str:
    """What to mind for a kind of treatment; never empty."""
    return _CAUTIONS.get(kind, TOOLS)
