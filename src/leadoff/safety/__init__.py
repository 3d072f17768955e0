"""The only judge: limits, hazards and prerequisites over a state. Red, amber, green; refuses nothing."""
