"""Several pads at a hub: what the strip says of them."""

STRIP = "At the front: {front} · beside it: {others}. Scan a tag, or move one for a second: it comes to the front."
NOBODYS = "{device}, no unit yet"
AT_THE_FRONT = "{tag} is at the front, and its visit goes on."
