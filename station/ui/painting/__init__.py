"""What every room draws with: colours, shapes, tables, small widgets."""
