"""A board that is not there: loads in, converters' own clocks, electronic and link faults, bytes out."""
