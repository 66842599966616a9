"""Report descriptors and what stands in them."""

AT_BYTE = "{message} (byte {offset} of the report descriptor)"
