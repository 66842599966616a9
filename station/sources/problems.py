"""What can be wrong with a device, said once: the child processes name a kind, this makes the sentence."""

from __future__ import annotations

import sys

from station import RESOURCES
from station.capture.text import plain_text
from station.errors import DeviceBusy, DeviceDenied, DeviceError, DeviceLost

UDEV_RULE = RESOURCES / "70-restpoint.rules"


def install_rule_command() -> str:
    """The one line that lets this user open game controllers on Linux."""
    return (
        f"sudo cp {UDEV_RULE} /etc/udev/rules.d/ && sudo udevadm control --reload && "
        "sudo udevadm trigger --subsystem-match=hidraw"
    )


def device_error(kind: str, name: str, detail: str = "") -> DeviceError:
    """The public error for a kind of `hidapi_port.ProblemKind`; `name` is the device's, untrusted."""
    who = plain_text(name) or "the device"
    if kind == "denied" and sys.platform.startswith("linux"):
        return DeviceDenied(
            f"You have no permission to open {who}; install the rule file {UDEV_RULE.name} once with "
            f"`{install_rule_command()}` and plug the device in again."
        )
    if kind == "denied":
        return DeviceDenied(f"The system does not let you open {who}; allow it in the system's privacy settings.")
    if kind == "busy":
        return DeviceBusy(f"Another program holds {who}; close that program and plug the device in again.")
    if kind == "gone":
        return DeviceLost(f"{who[0].upper()}{who[1:]} went away; plug it in again.")
    if kind == "replaced":
        return DeviceLost(f"Another device took the place of {who}; plug {who} in again.")
    said = plain_text(detail, 200)
    return DeviceError(f"{who[0].upper()}{who[1:]} cannot be opened ({said or 'no reason given'}); plug it in again.")
