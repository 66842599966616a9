"""What can be wrong with a device, said once: the child processes name a kind, this makes the sentence."""

from __future__ import annotations

import shlex
import sys

from station import RESOURCES
from station.capture.text import plain_text
from station.errors import DeviceBusy, DeviceDenied, DeviceError, DeviceLost
from station.words import devices as words
from station.words import grammar

UDEV_RULE = RESOURCES / "70-restpoint.rules"


def install_rule_command() -> str:
    """The one line that lets this user open game controllers on Linux."""
    steps = (
        ("cp", str(UDEV_RULE), "/etc/udev/rules.d/"),
        ("udevadm", "control", "--reload"),
        ("udevadm", "trigger", "--subsystem-match=hidraw", "--subsystem-match=usb"),
    )
    return " && ".join(shlex.join(("sudo", *step)) for step in steps)


def device_error(kind: str, name: str, detail: str = "") -> DeviceError:
    """The public error for a kind of `hidapi_port.ProblemKind`; `name` is the device's, untrusted."""
    who = plain_text(name) or words.NAMELESS
    if kind == "denied" and sys.platform.startswith("linux"):
        return DeviceDenied(words.DENIED_LINUX.format(name=who, rule=UDEV_RULE.name, command=install_rule_command()))
    if kind == "denied":
        return DeviceDenied(words.DENIED.format(name=who))
    if kind == "busy":
        return DeviceBusy(words.BUSY.format(name=who))
    if kind == "gone":
        return DeviceLost(words.WENT_AWAY.format(name=grammar.sentence_start(who)))
    if kind == "unknown":
        return DeviceError(words.NOT_IN_LIBRARY.format(name=grammar.sentence_start(who)))
    if kind == "replaced":
        return DeviceLost(words.REPLACED.format(name=who))
    reason = plain_text(detail, 200) or words.NO_REASON
    return DeviceError(words.CANNOT_OPEN.format(name=grammar.sentence_start(who), reason=reason))
