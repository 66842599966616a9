"""Report descriptors, reports and the names of usages."""

AT_BYTE = "{message} (byte {offset} of the report descriptor)"
MALFORMED = "{what}: read the descriptor again or give the fields in a model sheet"
"""`what` is one of the sentences below"""

EMPTY = "The report descriptor is empty"
TOO_LONG = "The report descriptor is longer than {most} bytes"
CUT_SHORT = "The last item is cut short"
RESERVED_TYPE = "Item 0x{prefix:02X} has the reserved type"
RESERVED_MAIN = "Main item tag 0x{tag:X} is reserved"
RESERVED_GLOBAL = "Global item tag 0x{tag:X} is reserved"
RESERVED_LOCAL = "Local item tag 0x{tag:X} is reserved"
COLLECTION_OPEN = "A collection is never closed"
COLLECTION_MISSING = "There is no collection"
COLLECTION_NOT_OPEN = "An End Collection has no Collection"
COLLECTIONS_TOO_DEEP = "Collections are nested deeper than {most}"
COLLECTION_TYPE = "A collection type is above 255"
TOO_MANY_PUSHES = "More than {most} Push items are open"
POP_ALONE = "A Pop has no Push"
PAGE_TOO_LARGE = "A Usage Page has more than 16 bits"
REPORT_ID_OUTSIDE = "Report ID {report} is outside 1…255"
DATA_BEFORE_ID = "Data stands before the first Report ID"
DATA_WITHOUT_ID = "Data stands without a Report ID"
DATA_OUTSIDE = "Data stands outside any collection"
DATA_BEFORE_SIZE = "Data stands before Report Size and Report Count"
SIZE_ZERO = "Report Size is 0"
REPORT_TOO_LONG = "A report is longer than {most} bytes"
TOO_MANY_FIELDS = "There are more than {most} fields"
TOO_MANY_USAGES = "There are more than {most} usages"
UPSIDE_DOWN = "Logical Maximum {high} is below Logical Minimum {low}"
DELIMITER_OPEN = "A delimiter is still open at a main item"
DELIMITER_TURN = "A delimiter does not open and close in turn"
DELIMITER_EMPTY = "A delimiter holds no usage"
RANGE_ALONE = "A Usage Minimum or Maximum stands alone"
RANGE_TWO_PAGES = "A usage range reaches over two pages"
RANGE_UPSIDE_DOWN = "A Usage Maximum is below its Usage Minimum"
USAGE_BEFORE_PAGE = "A usage stands before any Usage Page"

NO_SUCH_INPUT = "This device has no input “{usage}”: choose a sheet that fits the device."
FIELD_TOO_WIDE = "A field of {bits} bits cannot be read: give it 1 to 32 bits."
DOES_NOT_FIT = "{usage}: {value} does not fit into {bits} bits; give {low} to {high}."
NO_ROOM = "More controls are pressed than the report has room for: press at most {most} at a time."

UNDEFINED = "Undefined"
BUTTON = "Button {number}"
NO_BUTTON = "No button"
VENDOR_USAGE = "Vendor page 0x{page:04X}, usage 0x{usage:04X}"
USAGE_OF_PAGE = "{page}, usage 0x{usage:02X}"
UNKNOWN_USAGE = "Page 0x{page:02X}, usage 0x{usage:02X}"
PAGES = {
    "generic_desktop": "Generic Desktop",
    "simulation_controls": "Simulation Controls",
    "game_controls": "Game Controls",
    "generic_device_controls": "Generic Device Controls",
    "keyboard": "Keyboard",
    "led": "LED",
    "button": "Button",
    "consumer": "Consumer",
    "digitizers": "Digitizers",
    "sensors": "Sensors",
    "haptics": "Haptics",
    "physical_input_device": "Physical Input Device",
    "battery_system": "Battery System",
}
USAGES = {
    "touch_pad": "Touch Pad",
    "finger": "Finger",
    "in_range": "In Range",
    "tip_switch": "Tip Switch",
    "confidence": "Confidence",
    "contact_id": "Contact Id",
    "contact_count": "Contact Count",
    "sensor": "Sensor",
    "motion_accelerometer_3d": "Motion: Accelerometer 3D",
    "motion_gyrometer_3d": "Motion: Gyrometer 3D",
    "data_field_acceleration_axis_x": "Data Field: Acceleration Axis X",
    "data_field_acceleration_axis_y": "Data Field: Acceleration Axis Y",
    "data_field_acceleration_axis_z": "Data Field: Acceleration Axis Z",
    "data_field_angular_velocity_about_x_axis": "Data Field: Angular Velocity about X Axis",
    "data_field_angular_velocity_about_y_axis": "Data Field: Angular Velocity about Y Axis",
    "data_field_angular_velocity_about_z_axis": "Data Field: Angular Velocity about Z Axis",
    "pointer": "Pointer",
    "mouse": "Mouse",
    "joystick": "Joystick",
    "gamepad": "Gamepad",
    "keyboard": "Keyboard",
    "keypad": "Keypad",
    "multi_axis_controller": "Multi-axis Controller",
    "x": "X",
    "y": "Y",
    "z": "Z",
    "rx": "Rx",
    "ry": "Ry",
    "rz": "Rz",
    "slider": "Slider",
    "dial": "Dial",
    "wheel": "Wheel",
    "hat_switch": "Hat Switch",
    "start": "Start",
    "select": "Select",
    "vx": "Vx",
    "vy": "Vy",
    "vz": "Vz",
    "vbrx": "Vbrx",
    "vbry": "Vbry",
    "vbrz": "Vbrz",
    "vno": "Vno",
    "system_control": "System Control",
    "system_main_menu": "System Main Menu",
    "d_pad_up": "D-pad Up",
    "d_pad_down": "D-pad Down",
    "d_pad_right": "D-pad Right",
    "d_pad_left": "D-pad Left",
    "aileron": "Aileron",
    "elevator": "Elevator",
    "rudder": "Rudder",
    "throttle": "Throttle",
    "trigger": "Trigger",
    "accelerator": "Accelerator",
    "brake": "Brake",
    "clutch": "Clutch",
    "shifter": "Shifter",
    "steering": "Steering",
    "point_of_view": "Point of View",
    "gamepad_fire_jump": "Gamepad Fire/Jump",
    "gamepad_trigger": "Gamepad Trigger",
    "battery_strength": "Battery Strength",
    "wireless_channel": "Wireless Channel",
    "wireless_id": "Wireless ID",
    "rf_signal_strength": "RF Signal Strength",
    "software_version": "Software Version",
    "protocol_version": "Protocol Version",
    "hardware_version": "Hardware Version",
    "simple_haptic_controller": "Simple Haptic Controller",
    "waveform_list": "Waveform List",
    "duration_list": "Duration List",
    "auto_trigger": "Auto Trigger",
    "manual_trigger": "Manual Trigger",
    "intensity": "Intensity",
    "repeat_count": "Repeat Count",
    "retrigger_period": "Retrigger Period",
    "waveform_cutoff_time": "Waveform Cutoff Time",
    "waveform_none": "Waveform None",
    "waveform_stop": "Waveform Stop",
    "waveform_click": "Waveform Click",
    "waveform_buzz_continuous": "Waveform Buzz Continuous",
    "waveform_rumble_continuous": "Waveform Rumble Continuous",
    "waveform_press": "Waveform Press",
    "waveform_release": "Waveform Release",
    "physical_input_device": "Physical Input Device",
    "charging": "Charging",
    "discharging": "Discharging",
    "fully_charged": "Fully Charged",
    "relative_state_of_charge": "Relative State Of Charge",
    "absolute_state_of_charge": "Absolute State Of Charge",
    "remaining_capacity": "Remaining Capacity",
    "full_charge_capacity": "Full Charge Capacity",
    "cycle_count": "Cycle Count",
    "design_capacity": "Design Capacity",
    "ac_present": "AC Present",
    "battery_present": "Battery Present",
}
