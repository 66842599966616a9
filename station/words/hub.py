"""Several pads at a hub: what the strip says of them."""

STRIP = "At the front: {front} · beside it: {others} (scan one, or move it for a second)"
NOBODYS = "{device}, no unit yet"
AT_THE_FRONT = "{tag} is at the front, and its visit goes on."
