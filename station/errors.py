"""The one family of public errors.

    StationError
        InputError              a file or an argument is wrong: the message says what to do
            DescriptorError     a HID report descriptor cannot be read (carries the byte offset)
            CaptureError        a capture file cannot be used
                CaptureAltered  it is not the one that its name says
        SheetError              a model sheet is wrong (file, place, what)
        DeviceError
            DeviceLost          unplugged or gone
            DeviceBusy          another program holds it
            DeviceDenied        no permission
            DeviceUnknown       nothing says what its controls are
        RecordError
            RecordLocked        another program holds the records
            RecordFull          the disk is full
            RecordCorrupt       the records are damaged
            RecordTooNew        written by a newer version
            RecordRefused       this entry can never be stored as it is

Every message is one full sentence that ends with the next action. Anything outside this
family is a bug of ours and reaches the crash hook.
"""

from __future__ import annotations

from station.words import hid as words


class StationError(Exception):
    """Root of every error a user may see."""


class InputError(StationError):
    """A file or an argument cannot be used as it is."""


class DescriptorError(InputError):
    """A HID report descriptor breaks a rule of HID 1.11 or one of our caps."""

    def __init__(self, message: str, offset: int) -> None:
        super().__init__(words.AT_BYTE.format(message=message, offset=offset))
        self.offset = offset


class CaptureError(InputError):
    """A capture file is truncated, foreign or inconsistent."""


class CaptureAltered(CaptureError):
    """A capture file that was kept under its hash has other content now: it is no evidence."""


class SheetError(StationError):
    """A model sheet is wrong; the message names file, place and what is wrong."""


class DeviceError(StationError):
    """A device cannot be used now."""


class DeviceLost(DeviceError):
    """The device went away."""


class DeviceBusy(DeviceError):
    """Another program holds the device."""


class DeviceDenied(DeviceError):
    """The system does not let this user open the device."""


class DeviceUnknown(DeviceError):
    """Neither a sheet nor the device itself says what its controls are: it has to be taught."""


class RecordError(StationError):
    """The records cannot be read or written."""


class RecordLocked(RecordError):
    """Another program holds the records for longer than we wait."""


class RecordFull(RecordError):
    """No room is left on the disk of the records."""


class RecordCorrupt(RecordError):
    """The records file is damaged."""


class RecordTooNew(RecordError):
    """The records were written by a newer version of the program."""


class RecordRefused(RecordError):
    """The records do not take this entry, now or later: it breaks a rule of theirs."""
