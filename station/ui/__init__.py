"""The window. It draws and forwards; everything else reaches it through `ports.Desk`."""
