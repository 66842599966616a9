"""The window while a device is taught."""
