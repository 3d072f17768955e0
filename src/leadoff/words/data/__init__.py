"""Words, units and nominal clocks as data rows."""
