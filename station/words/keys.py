"""Key files: the bench's signing key and the public keys of others."""

UNUSABLE = (
    "The bench's key {path} cannot be read or written ({reason}); allow it, then write the certificate again."
)  # fmt: skip
UNREADABLE = "The bench's key {path} cannot be read ({reason}); allow it."
DAMAGED = (
    "The bench's key {path} is damaged; put your copy of it back, or make a new one with “restpoint key --new” and "
    "tell your buyers its fingerprint."
)
NOT_RENEWED = "No new key was made ({path}: {reason}); the one in force stays, make room and try again."
NOT_OVER_OTHER = "{path} is there already and is no public key file, or a link; name another file."
OTHER_LINE = (
    "{path} names another fingerprint than its key has: it was changed since the bench wrote it; ask the bench for its "
    "key file again."
)
FILE_UNREADABLE = "{path} cannot be read ({reason}); check the path."
NO_PUBLIC_KEY = "{path} holds no public key of a bench; ask the seller for the file of “restpoint key”."
NOT_KNOWN = "No key “{fingerprint}” is known here; “restpoint key” lists those that are."
HEADING = "Restpoint bench key"
"""the first line of the file that a buyer gets"""
