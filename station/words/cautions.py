"""The safety cautions of the bench: they stand before the work, and defer to local rules and licensed practice."""

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
