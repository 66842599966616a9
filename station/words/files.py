"""Files that a person writes: why one cannot be used."""

NOT_USED = "{what} {file} cannot be used: {reason}."
NOT_READABLE = "it cannot be read ({fault}); allow it, or put another in its place"
TOO_LARGE = "it is larger than {most} KiB; take out what does not belong there"
TOO_MANY_DOTS = "line {line} has more than {most} dots; mend that line"
TOO_DEEP = "brackets stand in brackets without end; mend that line"
NOT_TOML = "it is not valid TOML: {fault}; mend that line"
